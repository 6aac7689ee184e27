//! `leadhand forget`: a customer's data goes, the technical record stays.

use crate::record::header::JobId;
use crate::record::job::Job;
use crate::shell::store::place::StoreArgs;

/// Arguments of `leadhand forget`.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Removed are: name, place, telephone, mail, the complaint in the customer's words, access and payer; answers,\n\
                  notes, what was overheard, who consented and by which number; photographs;\n\
                  sound that was kept.\n\
                  Backups and exports made before hold them still: remove those yourself."
)]
pub struct ForgetArgs {
    /// The job, by its number: see `leadhand jobs`
    job: JobId,
    #[command(flatten)]
    store: StoreArgs,
}

/// Runs the command.
pub fn run(args: ForgetArgs) -> miette::Result<()> {
    let mut store = args.store.open_existing()?;
    let lease = store.lease(args.job)?;
    let at = Job::fold(&store.entries(args.job)?).last;
    let forgot = store.forget(&lease, at)?;
    println!("Removed from job {}: texts {}, files {}.", args.job, forgot.texts, forgot.files);
    if forgot.stay > 0 {
        println!(
            "Notes that an older version wrote stay, because the chain is made of them: {}.",
            forgot.stay
        );
    }
    Ok(())
}
