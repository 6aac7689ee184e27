//! The interlock: the only maker of permits.
//!
//! A small machine without numbers that are measured, so that every order of events can be tried
//! (`tests/interlock.rs` does). Knows nothing of words: the dialogue tells it what was proved, spoken and
//! acknowledged, and asks it for permits.
//!
//! Invariant: supply counts as [`Supply::ProvenDead`] only after known source, every pair of the work, and known
//! source again, with nothing in between that spoils the proof.

use super::evidence::{Charge, Source, Work};
use super::permit::{AbsenceTest, ChargeTest, DeadWork, Energise, JumperWork, LiveWork, SourceTest};
use super::supply::Supply;

/// How far the proof of death has come. It means something only while the supply is isolated.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
enum Proof {
    /// Nothing is proved.
    NotBegun,
    /// The meter showed the known source; so many pairs of the work have read zero since.
    WorkDead(u8),
}

/// Whether the hazard of this visit to a live state was spoken and answered.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
enum Guard {
    Quiet,
    Spoken,
    Acknowledged,
}

/// Why a permit is refused.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Refusal {
    /// The work is not proved dead.
    NotProvenDead,
    /// The supply is not cut off, as far as we know.
    NotIsolated,
    /// The hazard was not spoken, or not acknowledged, in this visit.
    NotAcknowledged,
    /// The meter was not proved on a known source.
    MeterNotProved,
    /// The supply is not known to be on.
    NotLive,
    /// A jumper is still in.
    JumperIn,
    /// There is no jumper to take out.
    NoJumper,
    /// The meter was not said to be fit.
    MeterNotFit,
    /// Somebody else may restore the supply.
    NotHeld,
    /// It is wet.
    Wet,
    /// What keeps a charge has not been read as empty since it was last live.
    Charged,
}

/// What is proved, spoken, acknowledged and bridged.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Interlock {
    supply: Supply,
    proof: Proof,
    guard: Guard,
    jumpers: u8,
    pairs: u8,
    /// Was the meter said to be fit for the job?
    fit: bool,
    /// Is it wet where the technician stands or works?
    wet: bool,
    /// Was what keeps a charge read as empty, since the work was proved dead?
    drained: bool,
}

impl Interlock {
    /// The most pairs of points that proving dead may ask for.
    pub const MOST_PAIRS: u8 = 16;

    /// Nothing known yet; `pairs` pairs of the work must read zero to prove it dead.
    ///
    /// # Panics
    /// If there is no pair, or more than [`Self::MOST_PAIRS`]: appliance models are checked for that.
    pub fn new(pairs: u8) -> Self {
        assert!((1..=Self::MOST_PAIRS).contains(&pairs), "an appliance model names what must read zero");
        Self {
            supply: Supply::Unknown,
            proof: Proof::NotBegun,
            guard: Guard::Quiet,
            jumpers: 0,
            pairs,
            fit: false,
            wet: false,
            drained: false,
        }
    }

    /// The same with a jumper in: a job picked up again may have left one.
    #[must_use]
    pub const fn with_jumper(self) -> Self {
        Self { jumpers: 1, ..self }
    }

    /// What we know of the supply.
    pub const fn supply(&self) -> Supply {
        self.supply
    }

    /// Is a jumper in?
    pub const fn jumper_in(&self) -> bool {
        self.jumpers > 0
    }

    /// Was the meter said to be fit for the job?
    pub const fn meter_is_fit(&self) -> bool {
        self.fit
    }

    /// Is it wet?
    pub const fn is_wet(&self) -> bool {
        self.wet
    }

    /// The technician says whether the meter is fit for the job.
    pub fn meter(&mut self, fit: bool) {
        self.fit = fit;
        if !fit {
            self.doubt();
        }
    }

    /// It is wet where the technician stands or works: everything counts as live.
    pub fn wet(&mut self) {
        self.wet = true;
        self.doubt();
    }

    /// It is dry again. That proves nothing.
    pub fn dry(&mut self) {
        self.wet = false;
    }

    /// Something happened that we cannot account for: stop, silence, a lost microphone, a restart, a long pause.
    /// Everything counts as live, nothing as proved or acknowledged. Jumpers stay counted.
    pub fn doubt(&mut self) {
        self.supply_is(Supply::Unknown);
    }

    /// The technician cut the supply off; `held` if nobody else can restore it. That proves nothing yet.
    pub fn isolated(&mut self, held: bool) -> Result<(), Refusal> {
        self.supply_is(if held { Supply::Isolated } else { Supply::Unknown });
        self.require(held, Refusal::NotHeld)
    }

    /// Whatever was proved, acknowledged or drained before is so no more.
    fn supply_is(&mut self, supply: Supply) {
        self.supply = supply;
        self.proof = Proof::NotBegun;
        self.guard = Guard::Quiet;
        self.drained = false;
    }

    /// The hazard of the step to come was spoken.
    pub fn hazard_spoken(&mut self) {
        self.guard = Guard::Spoken;
    }

    /// The deliberate answer to the hazard was heard. Counts only after a hazard that was spoken.
    pub fn acknowledged(&mut self) -> Result<(), Refusal> {
        if self.guard == Guard::Quiet {
            return Err(Refusal::NotAcknowledged);
        }
        self.guard = Guard::Acknowledged;
        Ok(())
    }

    /// To read the known source while the work is isolated.
    pub fn permit_source(&self) -> Result<SourceTest, Refusal> {
        self.require_source()?;
        Ok(SourceTest::issue())
    }

    fn require_source(&self) -> Result<(), Refusal> {
        self.require(self.fit, Refusal::MeterNotFit)?;
        self.require(!self.wet, Refusal::Wet)?;
        self.require(self.supply == Supply::Isolated, Refusal::NotIsolated)?;
        self.require(self.guard == Guard::Acknowledged, Refusal::NotAcknowledged)
    }

    /// To read the work for absence of voltage. The meter is proved first.
    pub fn permit_absence(&self) -> Result<AbsenceTest, Refusal> {
        self.require(self.supply == Supply::Isolated, Refusal::NotIsolated)?;
        self.require(self.proof != Proof::NotBegun, Refusal::MeterNotProved)?;
        Ok(AbsenceTest::issue())
    }

    /// The first reading of the known source.
    pub fn source_read(&mut self, source: Source) -> Result<(), Refusal> {
        self.require_source()?;
        self.proof = match source {
            Source::Good => Proof::WorkDead(0),
            Source::Bad => Proof::NotBegun,
        };
        Ok(())
    }

    /// A reading across the next pair of the work. Voltage spoils everything.
    pub fn work_read(&mut self, work: Work) -> Result<(), Refusal> {
        self.require(self.supply == Supply::Isolated, Refusal::NotIsolated)?;
        match (self.proof, work) {
            (Proof::NotBegun, _) => return Err(Refusal::MeterNotProved),
            (Proof::WorkDead(_), Work::Voltage) => self.doubt(),
            (Proof::WorkDead(n), Work::Zero) => self.proof = Proof::WorkDead(self.pairs.min(n + 1)),
        }
        Ok(())
    }

    /// The second reading of the known source. Only now is the work proved dead.
    pub fn source_read_again(&mut self, source: Source) -> Result<(), Refusal> {
        self.require_source()?;
        self.require(self.proof == Proof::WorkDead(self.pairs), Refusal::NotProvenDead)?;
        self.guard = Guard::Quiet;
        self.proof = Proof::NotBegun;
        if source == Source::Good {
            self.supply = Supply::ProvenDead;
        }
        Ok(())
    }

    /// To ask for a resistance or continuity, or for hands inside.
    pub fn permit_dead(&self) -> Result<DeadWork, Refusal> {
        self.require(self.supply == Supply::ProvenDead, Refusal::NotProvenDead)?;
        Ok(DeadWork::issue())
    }

    /// To read what keeps a charge.
    pub fn permit_charge(&self) -> Result<ChargeTest, Refusal> {
        self.require(self.supply == Supply::ProvenDead, Refusal::NotProvenDead)?;
        Ok(ChargeTest::issue())
    }

    /// What keeps a charge was read.
    pub fn charge_read(&mut self, charge: Charge) -> Result<(), Refusal> {
        self.require(self.supply == Supply::ProvenDead, Refusal::NotProvenDead)?;
        self.drained = charge == Charge::Empty;
        Ok(())
    }

    /// To ask for a resistance, or for hands, at what keeps a charge.
    pub fn permit_drained(&self) -> Result<DeadWork, Refusal> {
        self.require(self.drained, Refusal::Charged)?;
        self.permit_dead()
    }

    /// To have a jumper put in, which counts from now on.
    pub fn permit_jumper_in(&mut self) -> Result<JumperWork, Refusal> {
        self.require(self.supply == Supply::ProvenDead, Refusal::NotProvenDead)?;
        self.jumpers = 1;
        Ok(JumperWork::issue())
    }

    /// To have the jumper taken out. It counts as in until [`Self::jumper_out`].
    pub fn permit_jumper_out(&self) -> Result<JumperWork, Refusal> {
        self.require(self.supply == Supply::ProvenDead, Refusal::NotProvenDead)?;
        self.require(self.jumper_in(), Refusal::NoJumper)?;
        Ok(JumperWork::issue())
    }

    /// The technician says the jumper is out; believed only while the work is proved dead.
    pub fn jumper_out(&mut self) -> Result<(), Refusal> {
        self.require(self.supply == Supply::ProvenDead, Refusal::NotProvenDead)?;
        self.jumpers = 0;
        Ok(())
    }

    /// To have the supply switched on. From now on it counts as live.
    pub fn permit_energise(&mut self) -> Result<Energise, Refusal> {
        self.require(self.guard == Guard::Acknowledged, Refusal::NotAcknowledged)?;
        self.require(self.supply != Supply::Unknown, Refusal::NotIsolated)?;
        self.require(!self.wet, Refusal::Wet)?;
        self.supply = Supply::Live;
        self.proof = Proof::NotBegun;
        self.drained = false;
        Ok(Energise::issue())
    }

    /// To ask for a reading or an observation at the live work.
    pub fn permit_live(&self) -> Result<LiveWork, Refusal> {
        self.require(self.supply == Supply::Live, Refusal::NotLive)?;
        self.require(self.guard == Guard::Acknowledged, Refusal::NotAcknowledged)?;
        Ok(LiveWork::issue())
    }

    /// May the job be closed? Not with a jumper in.
    pub fn may_close(&self) -> Result<(), Refusal> {
        self.require(!self.jumper_in(), Refusal::JumperIn)
    }

    #[allow(clippy::unused_self)] // reads as one sentence at every use
    const fn require(&self, holds: bool, otherwise: Refusal) -> Result<(), Refusal> {
        if holds { Ok(()) } else { Err(otherwise) }
    }
}
