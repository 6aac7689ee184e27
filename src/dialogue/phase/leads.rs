//! The leads touched together: what they have is taken off every few ohms; and whether so many open circuits are the
//! machine's or the meter's.

use crate::diagnose::doubt::Doubt;
use crate::diagnose::instrument;
use crate::quantity::Unit;
use crate::reading::Finding;
use crate::record::entry::What;
use crate::safety::{ProofStage, Refusal};
use crate::say::Prompt;
use crate::understand::intent::{Anytime, Intent};

use super::super::bench::Bench;
use super::super::outbox::Outbox;
use super::making_safe::MakingSafe;
use super::{Answer, Phase, Question, measuring};

pub(in super::super) fn ask(bench: &mut Bench, out: &mut Outbox) -> Result<Question, Refusal> {
    let permit = bench.interlock.permit_dead()?;
    let doubted = bench.findings.doubt() == Some(Doubt::LeadOpen);
    out.say(&Prompt::TouchLeads { doubted, permit });
    let situation = bench.reading_situation(None, vec![Unit::Ohms]);
    Ok(Question::new(situation, "leads", "nine ohms"))
}

pub(in super::super) fn answer(bench: &mut Bench, out: &mut Outbox, answer: &Answer<'_>) -> Phase {
    let report = match &answer.best.intent {
        Intent::Report(report) => report,
        Intent::Anytime(Anytime::Skip) => {
            out.say(&Prompt::Skipped);
            bench.findings.leave_leads();
            return measuring::next(bench, out);
        }
        _ => {
            out.say(&Prompt::NotHere);
            return Phase::ProvingLeads;
        }
    };
    let Some(Finding::Reading(reading)) = measuring::in_unit(out, report.reading, Unit::Ohms) else {
        return Phase::ProvingLeads;
    };
    out.say(&Prompt::ReadBack { reading, beeps: false });
    out.record(What::Proof { stage: ProofStage::Leads, points: None, reading });
    if instrument::good_leads(reading) {
        bench.findings.leads_good(reading);
        out.say(&Prompt::LeadsGood);
        return measuring::next(bench, out);
    }
    // With such leads a live point reads nothing too: what was proved dead with them is not.
    out.say(&Prompt::LeadOpen);
    bench.findings.leads_bad(out);
    bench.interlock.meter(false);
    bench.doubt(out, "a lead of the meter is open");
    Phase::MakingSafe(MakingSafe::AskingMeter)
}
