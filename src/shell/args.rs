//! The command line: which command, with which arguments.

use clap::{Parser, Subcommand};

use super::command;

/// A local, voice-driven assistant for the household-appliance repair technician.
#[derive(Debug, Parser)]
#[command(version, about, long_about = None, arg_required_else_help = true)]
pub struct Args {
    /// What to do.
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Work a job by voice, with microphone and loudspeaker
    #[cfg(all(feature = "whisper", feature = "audio"))]
    Talk(command::talk::TalkArgs),
    /// Say what a job by voice still lacks, and try it out
    #[cfg(all(feature = "whisper", feature = "audio"))]
    Ready(command::ready::ReadyArgs),
    /// Work a job with typed words instead of a microphone
    Type(command::type_::TypeArgs),
    /// Work a job from recorded utterances
    #[cfg(feature = "whisper")]
    Replay(command::replay::ReplayArgs),
    /// Recognise recordings and print what was meant
    #[cfg(feature = "whisper")]
    Hear(command::hear::HearArgs),
    /// Look into an appliance model, check one, make one's own
    Model(command::model::ModelArgs),
    /// Say what holds where you work: supply, earthing, licensed trades
    Region(command::region::RegionArgs),
    /// List the jobs on record
    Jobs(command::jobs::JobsArgs),
    /// Write the report of a job
    Report(command::report::ReportArgs),
    /// Check that every entry on record is as it was written
    Verify(command::verify::VerifyArgs),
    /// Copy the record while it may be in use
    Backup(command::backup::BackupArgs),
    /// Put a backup in the place of the record
    Restore(command::restore::RestoreArgs),
    /// Write the record as JSON Lines, or lists of it as CSV
    Export(command::export::ExportArgs),
    /// Read an exported record back
    Import(command::import::ImportArgs),
    /// Exchange entries with the shared record of a shop
    Sync(command::sync::SyncArgs),
    /// Write the shop's figures over all jobs
    Shop(command::shop::ShopArgs),
    /// Learn from finished jobs how often each fault comes
    Learn(command::learn::LearnArgs),
    /// Work pretend jobs on machines whose fault is known, and say how well
    Simulate(command::simulate::SimulateArgs),
    /// Fill a warranty claim from a job
    Claim(command::claim::ClaimArgs),
    /// Type what was not said: customer, plate, photographs, parts, estimate, consent
    Enter(command::enter::EnterArgs),
    /// Remove a customer's data from a job
    Forget(command::forget::ForgetArgs),
}

impl Args {
    /// Runs the command named.
    pub fn run(self) -> miette::Result<()> {
        match self.command {
            #[cfg(all(feature = "whisper", feature = "audio"))]
            Command::Talk(args) => command::talk::run(args),
            #[cfg(all(feature = "whisper", feature = "audio"))]
            Command::Ready(args) => command::ready::run(args),
            Command::Type(args) => command::type_::run(args),
            #[cfg(feature = "whisper")]
            Command::Replay(args) => command::replay::run(args),
            #[cfg(feature = "whisper")]
            Command::Hear(args) => command::hear::run(args),
            Command::Model(args) => command::model::run(args),
            Command::Region(args) => command::region::run(args),
            Command::Jobs(args) => command::jobs::run(args),
            Command::Report(args) => command::report::run(args),
            Command::Verify(args) => command::verify::run(args),
            Command::Backup(args) => command::backup::run(args),
            Command::Restore(args) => command::restore::run(args),
            Command::Export(args) => command::export::run(args),
            Command::Import(args) => command::import::run(args),
            Command::Sync(args) => command::sync::run(args),
            Command::Shop(args) => command::shop::run(args),
            Command::Learn(args) => command::learn::run(args),
            Command::Simulate(args) => command::simulate::run(args),
            Command::Claim(args) => command::claim::run(args),
            Command::Enter(args) => command::enter::run(args),
            Command::Forget(args) => command::forget::run(args),
        }
    }
}
