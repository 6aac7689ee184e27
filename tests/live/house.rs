//! A sound system of the test's own: a loudspeaker, the air of a kitchen, and a microphone that hears the air.

use std::fs;
use std::io::{BufRead, BufReader, Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::mpsc;
use std::thread;
use std::time::Duration;

use tempfile::TempDir;

/// The longest that the sound system may take to start.
const LONGEST_START: Duration = Duration::from_secs(20);

/// How loud the quiet room is: root mean square, of full scale. A room without any sound there is none.
pub const QUIET: f32 = 0.0006;

/// What a sound system is made of: a loudspeaker, and the air, whose monitor is the microphone. No device of the machine.
const DEVICES: &str = "\
load-module module-native-protocol-unix socket=@ auth-anonymous=1
load-module module-null-sink sink_name=loudspeaker rate=48000 channels=2
load-module module-null-sink sink_name=air rate=48000 channels=1
set-default-sink loudspeaker
set-default-source air.monitor
";

/// ALSA, which the program speaks to, handed on to the sound system. Debian's own settings say the same of the default.
const ALSA: &str = "\
</usr/share/alsa/alsa.conf>
pcm.!default { type pulse hint { show on description \"Kitchen\" } }
ctl.!default { type pulse }
pcm.headset { type pulse device headset hint { show on description \"Headset of the test\" } }
pcm.mouth { type pulse server \"unix:@/mouth\" hint { show on description \"Mouth of the test\" } }
";

/// A running sound system. Ends when dropped.
pub struct House {
    folder: TempDir,
    ear: Option<Child>,
    /// Where there is a loudspeaker that can be lost alone.
    mouth: Option<Child>,
    noise: Option<Child>,
}

impl House {
    /// Starts one, with a quiet room; `None`, with a line that says so, where what it takes is not installed.
    pub fn open(checks: usize) -> Option<Self> {
        let there = |program: &str| {
            let shown =
                Command::new(program).arg("--version").stdout(Stdio::null()).stderr(Stdio::null()).status();
            shown.is_ok_and(|status| status.success())
        };
        let missing = ["pulseaudio", "pactl", "paplay", "parec", "espeak-ng"]
            .into_iter()
            .find(|program| !there(program));
        let missing = missing.or_else(|| (!alsa_plugin()).then_some("libasound2-plugins"));
        if let Some(missing) = missing {
            // Straight to the terminal: the test harness hides what passing tests print.
            let told = writeln!(
                std::io::stderr(),
                "skipped: {checks} live checks, {missing} is not installed (scripts/setup.sh test)"
            );
            told.expect("stderr can be written");
            return None;
        }
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path();
        fs::write(path.join("asound.conf"), ALSA.replace('@', &path.display().to_string())).expect("written");
        let mut house = Self { folder, ear: None, mouth: None, noise: None };
        house.ear = Some(house.sound_system("ear"));
        house.noise(QUIET);
        Some(house)
    }

    /// The same, with one more loudspeaker, "Mouth of the test", on a sound system of its own.
    pub fn open_apart(checks: usize) -> Option<Self> {
        let mut house = Self::open(checks)?;
        house.plug_mouth();
        Some(house)
    }

    /// The other loudspeaker's sound system dies.
    pub fn unplug_mouth(&mut self) {
        end(&mut self.mouth.take().expect("it is apart"));
    }

    /// And comes back.
    pub fn plug_mouth(&mut self) {
        self.mouth = Some(self.sound_system("mouth"));
    }

    /// The microphone is pulled out. As sound systems do, this one gives who listens what it still has: what the loudspeaker
    /// plays.
    pub fn unplug_microphone(&mut self) {
        self.noise.as_mut().into_iter().for_each(end);
        self.unplug("air");
    }

    /// And plugged in again.
    pub fn plug_microphone(&mut self) {
        self.plug_microphone_at("48000");
    }

    /// The same, with so many samples a second, as a wireless headset that changes to the profile of telephones.
    pub fn plug_microphone_at(&mut self, rate: &str) {
        self.plug_in("module-null-sink", &["sink_name=air", &format!("rate={rate}"), "channels=1"]);
        self.pactl(&["set-default-source", "air.monitor"]);
        self.noise(QUIET);
    }

    /// Starts a sound system on a socket of this name.
    fn sound_system(&self, name: &str) -> Child {
        let path = self.folder();
        let socket = path.join(name);
        let _before = fs::remove_file(&socket);
        let start = path.join(format!("{name}.pa"));
        fs::write(&start, DEVICES.replace('@', &socket.display().to_string())).expect("written");
        let mut daemon = Command::new("pulseaudio");
        daemon
            .args(["-n", "--daemonize=no", "--use-pid-file=no", "--exit-idle-time=-1", "--realtime=no"])
            .args(["--high-priority=no", "--log-target=stderr", "--log-level=info", "-F"])
            .arg(start)
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .stderr(Stdio::piped());
        let mut daemon = within(path, daemon).spawn().expect("pulseaudio starts");
        let log = lines_of(daemon.stderr.take().expect("piped"));
        let mut said = String::new();
        while !said.contains("Daemon startup complete") {
            let line = log.recv_timeout(LONGEST_START);
            said += &line.unwrap_or_else(|error| panic!("pulseaudio did not start ({error}):\n{said}"));
        }
        daemon
    }

    /// A folder for what the test leaves.
    pub fn folder(&self) -> &Path {
        self.folder.path()
    }

    /// A program that hears and speaks through this house.
    pub fn program(&self, name: &str) -> Command {
        within(self.folder(), Command::new(name))
    }

    /// Asks the sound system for something; what it answers.
    pub fn pactl(&self, args: &[&str]) -> String {
        let output = self.program("pactl").args(args).output().expect("pactl runs");
        assert!(output.status.success(), "pactl {args:?}: {}", String::from_utf8_lossy(&output.stderr));
        String::from_utf8(output.stdout).expect("text")
    }

    /// Plugs something in; its number.
    pub fn plug_in(&self, module: &str, args: &[&str]) -> String {
        self.pactl(&[&["load-module", module], args].concat()).trim().to_owned()
    }

    /// Pulls the module of a device out of the wall.
    pub fn unplug(&self, device: &str) {
        let modules = self.pactl(&["list", "short", "modules"]);
        let line =
            modules.lines().find(|line| line.contains(&format!("_name={device} "))).unwrap_or_else(|| {
                panic!("no {device} in:\n{modules}");
            });
        self.pactl(&["unload-module", line.split('\t').next().expect("a number")]);
    }

    /// Says a recording into the air, to its end.
    pub fn say(&self, recording: &Path) {
        let status = self.program("paplay").arg("--device=air").arg(recording).status().expect("paplay runs");
        assert!(status.success(), "{}", recording.display());
    }

    /// Speaks words into the air, to their end.
    pub fn speak(&self, words: &str) {
        let path = self.folder().join("spoken.wav");
        let mut program = Command::new("espeak-ng");
        let status = program.args(["-v", "en-us+m3", "-s", "150", "-w"]).arg(&path).arg(words).status();
        assert!(status.expect("espeak-ng runs").success(), "{words}");
        self.say(&path);
    }

    /// Lets the room sound as it does for a while.
    pub fn play_for(&self, length: Duration) {
        let path = self.folder().join("quiet.wav");
        let spec = hound::WavSpec {
            channels: 1,
            sample_rate: 16_000,
            bits_per_sample: 16,
            sample_format: hound::SampleFormat::Int,
        };
        let mut wav = hound::WavWriter::create(&path, spec).expect("a file");
        (0..length.as_millis() * 16).for_each(|_| wav.write_sample(0_i16).expect("written"));
        wav.finalize().expect("written");
        self.say(&path);
    }

    /// The noise in the room from now on: root mean square, of full scale.
    pub fn noise(&mut self, level: f32) {
        let mut player = self
            .program("paplay")
            .args([
                "--device=air",
                "--raw",
                "--format=s16le",
                "--rate=16000",
                "--channels=1",
                "--latency-msec=100",
            ])
            .stdin(Stdio::piped())
            .spawn()
            .expect("paplay runs");
        let mut pipe = player.stdin.take().expect("piped");
        // Ends when the player does.
        thread::spawn(move || while pipe.write_all(&noise(level)).is_ok() {});
        if let Some(mut before) = self.noise.replace(player) {
            end(&mut before);
        }
        self.wait_for_sound();
    }

    /// Until the air is not quite silent.
    fn wait_for_sound(&self) {
        let mut recorder = self
            .program("parec")
            .args(["--device=air.monitor", "--raw", "--format=s16le", "--rate=16000", "--channels=1"])
            .arg("--latency-msec=20")
            .stdout(Stdio::piped())
            .spawn()
            .expect("parec runs");
        let mut pipe = recorder.stdout.take().expect("piped");
        let mut bytes = [0_u8; 640];
        // Ends with sound, or with the recorder.
        while pipe.read_exact(&mut bytes).is_ok() && bytes.iter().all(|byte| *byte == 0) {}
        end(&mut recorder);
    }
}

impl Drop for House {
    fn drop(&mut self) {
        // The system's voice starts by itself where it is wanted, and says here which process it is.
        let voice = self.folder().join("speech-dispatcher/pid/speech-dispatcher.pid");
        if let Ok(id) = fs::read_to_string(voice) {
            // It may have ended by itself.
            let _gone = Command::new("kill").arg(id.trim()).stderr(Stdio::null()).status();
        }
        for child in [&mut self.noise, &mut self.mouth, &mut self.ear].into_iter().flatten() {
            end(child);
        }
    }
}

/// Ends a program that the test started.
pub fn end(child: &mut Child) {
    // It may have ended by itself.
    let _gone = child.kill();
    let _gone = child.wait();
}

/// The lines that come out of a pipe, read on a thread of their own.
pub fn lines_of(pipe: impl Read + Send + 'static) -> mpsc::Receiver<String> {
    let (tell, lines) = mpsc::channel();
    thread::spawn(move || {
        for line in BufReader::new(pipe).lines().map_while(Result::ok) {
            if tell.send(line).is_err() {
                break;
            }
        }
    });
    lines
}

/// A second of the noise of a fan: white, and what is above some hundred hertz weakened.
fn noise(level: f32) -> Vec<u8> {
    let mut state = 1_u64;
    let mut low = 0.0;
    let samples = (0..16_000).map(|_| {
        // Knuth's MMIX generator.
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        let white = (state >> 33) as f32 / (1_u64 << 30) as f32 - 1.0;
        low += 0.2 * (white - low);
        low
    });
    let samples: Vec<f32> = samples.collect();
    let power = samples.iter().map(|s| s * s).sum::<f32>() / samples.len() as f32;
    let gain = level / power.sqrt() * f32::from(i16::MAX);
    samples.iter().flat_map(|s| ((s * gain).round() as i16).to_le_bytes()).collect()
}

/// The program, in an environment that leads it to the house and to nothing else.
fn within(folder: &Path, mut program: Command) -> Command {
    program
        .env("HOME", folder)
        .env("XDG_RUNTIME_DIR", folder)
        .env("PULSE_RUNTIME_PATH", folder)
        .env("PULSE_SERVER", format!("unix:{}/ear", folder.display()))
        .env("ALSA_CONFIG_PATH", folder.join("asound.conf"))
        .env_remove("PULSE_COOKIE")
        .env_remove("XDG_DATA_HOME");
    program
}

/// Can ALSA speak to PulseAudio?
fn alsa_plugin() -> bool {
    let folders = fs::read_dir("/usr/lib").into_iter().flatten().flatten().map(|entry| entry.path());
    let places: Vec<PathBuf> = folders.chain([PathBuf::from("/usr/lib64")]).collect();
    places.iter().any(|place| place.join("alsa-lib/libasound_module_pcm_pulse.so").exists())
}
