//! The sound devices of this machine, by name.

use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};

use cpal::traits::{DeviceTrait, HostTrait};
use cpal::{BufferSize, ErrorKind, SupportedBufferSize, SupportedStreamConfig};

/// Which way the sound goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// In.
    Microphone,
    /// Out.
    Loudspeaker,
}

/// The device of a name, or the system's default one. A name fits where it is the whole of the device's name or of its
/// driver's name for it; failing that, where it stands in it, small and capital letters alike.
pub fn find(side: Side, wanted: Option<&str>) -> Option<cpal::Device> {
    hush();
    let Some(wanted) = wanted else {
        let host = cpal::default_host();
        return match side {
            Side::Microphone => host.default_input_device(),
            Side::Loudspeaker => host.default_output_device(),
        };
    };
    // Only a name that is not there is looked for further: to ask ALSA is to have it open every device.
    hosts().find_map(|host| {
        let there = all(&host, side);
        let names: Vec<[String; 2]> = there.iter().map(named).collect();
        there.into_iter().nth(best(&names, wanted)?)
    })
}

/// The names of all devices of the sound system in use, each once.
pub fn names(side: Side) -> Vec<String> {
    hush();
    let mut names: Vec<String> =
        all(&cpal::default_host(), side).iter().map(|device| named(device)[0].clone()).collect();
    names.sort();
    names.dedup();
    names
}

/// What there is, as a help.
pub fn listed(there: &[String], what: &str) -> String {
    if there.is_empty() {
        return format!("this machine shows no {what}");
    }
    format!("the {what} of this machine:\n{}", there.join("\n"))
}

/// How an open stream is doing, told by the sound system's thread.
#[derive(Debug, Default)]
pub struct Health {
    glitches: AtomicU64,
    lost: AtomicBool,
    why: Mutex<String>,
}

impl Health {
    /// Takes an error. Few end the stream; of the others some come many times a moment while it is being opened (PulseAudio
    /// through ALSA has no delay to tell at first). Whether sound still passes shows whether they matter.
    pub fn note(&self, error: &cpal::Error) {
        match error.kind() {
            ErrorKind::Xrun => drop(self.glitches.fetch_add(1, Ordering::Relaxed)),
            ErrorKind::DeviceNotAvailable | ErrorKind::StreamInvalidated | ErrorKind::HostUnavailable => {
                self.lose(error);
            }
            _ => {}
        }
    }

    fn lose(&self, error: &cpal::Error) {
        if let Ok(mut why) = self.why.lock() {
            *why = error.to_string();
        }
        self.lost.store(true, Ordering::Release);
    }

    /// Has it gone for good?
    pub fn is_lost(&self) -> bool {
        self.lost.load(Ordering::Acquire)
    }

    /// Why it has gone, as the sound system says.
    pub fn why(&self) -> String {
        self.why.lock().map(|why| why.clone()).unwrap_or_default()
    }

    /// Times that the sound system itself lost sound.
    pub fn glitches(&self) -> u64 {
        self.glitches.load(Ordering::Relaxed)
    }
}

/// All sound systems, the one in use first: PulseAudio or PipeWire, then ALSA, on Linux.
fn hosts() -> impl Iterator<Item = cpal::Host> {
    let first = cpal::default_host();
    let others = cpal::available_hosts().into_iter().filter({
        let first = first.id();
        move |host| *host != first
    });
    std::iter::once(first).chain(others.filter_map(|host| cpal::host_from_id(host).ok()))
}

fn all(host: &cpal::Host, side: Side) -> Vec<cpal::Device> {
    match side {
        Side::Microphone => host.input_devices().map(Iterator::collect),
        Side::Loudspeaker => host.output_devices().map(Iterator::collect),
    }
    .unwrap_or_default()
}

/// The buffer to ask a device for: so many pieces a second where it lets us choose.
pub fn buffer(supported: &SupportedStreamConfig, pieces: u32) -> BufferSize {
    let wanted = supported.sample_rate() / pieces;
    match supported.buffer_size() {
        SupportedBufferSize::Range { min, max } if (*min..=*max).contains(&wanted) => {
            BufferSize::Fixed(wanted)
        }
        _ => BufferSize::Default,
    }
}

/// ALSA's library prints what it thinks of every device that does not open. What matters of it comes back as an error too,
/// so it is kept from the terminal, on this thread.
#[cfg(target_os = "linux")]
fn hush() {
    // Where that fails it goes on printing.
    drop(alsa::Output::local_error_handler());
}

#[cfg(not(target_os = "linux"))]
const fn hush() {}

/// A device's name, and its driver's name for it.
fn named(device: &cpal::Device) -> [String; 2] {
    match device.description() {
        Ok(description) => {
            let driver = description.driver().unwrap_or_default().to_owned();
            [description.name().to_owned(), driver]
        }
        Err(_) => [device.to_string(), String::new()],
    }
}

fn best(names: &[[String; 2]], wanted: &str) -> Option<usize> {
    let is = |names: &[String; 2]| names.iter().any(|name| name == wanted);
    let low = wanted.to_lowercase();
    let holds = |names: &[String; 2]| names.iter().any(|name| name.to_lowercase().contains(&low));
    names.iter().position(is).or_else(|| names.iter().position(holds))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_an_error_that_ends_the_stream_loses_it() {
        for (kind, times, lost, glitches) in [
            (ErrorKind::DeviceNotAvailable, 1, true, 0),
            (ErrorKind::StreamInvalidated, 1, true, 0),
            (ErrorKind::BackendError, 99, false, 0),
            (ErrorKind::Xrun, 99, false, 99),
            (ErrorKind::DeviceChanged, 99, false, 0),
            (ErrorKind::RealtimeDenied, 99, false, 0),
        ] {
            let health = Health::default();
            (0..times).for_each(|_| health.note(&kind.into()));
            assert_eq!((health.is_lost(), health.glitches()), (lost, glitches), "{kind:?}");
            assert_eq!(health.why().is_empty(), !lost, "{kind:?}");
        }
    }

    #[test]
    fn a_name_is_found_whole_before_in_part() {
        let names = [("USB Headset", "hw:1"), ("Headset", "plughw:2"), ("Built-in", "default")]
            .map(|(name, driver)| [name.to_owned(), driver.to_owned()]);
        for (wanted, nth) in [
            ("Headset", Some(1)),
            ("headset", Some(0)),
            ("default", Some(2)),
            ("built", Some(2)),
            ("none", None),
        ] {
            assert_eq!(best(&names, wanted), nth, "{wanted}");
        }
    }
}
