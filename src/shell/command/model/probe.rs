//! `leadhand model probe`: what a meter shows between points.

use std::fmt::Write as _;

use serde_json::json;

use super::{Situation, unknown};
use crate::circuit::{Flaw, Meter, Mode, Samples, Shown, Survey};
use crate::id::{FaultId, NodeId, PointId};
use crate::model::appliance::{Appliance, State};

/// Arguments of `leadhand model probe`.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Examples:\n  leadhand model probe dryer-240\n  leadhand model probe dryer-240 --state running --fault leg-two-lost --pair line-1 line-2"
)]
pub(super) struct ProbeArgs {
    #[command(flatten)]
    situation: Situation,
    /// Two points, by their names in the model; may be repeated; every pair if left out
    #[arg(long, value_names = ["A", "B"], num_args = 2)]
    pair: Vec<String>,
    /// What the meter is set to; AC volts where the supply is on and ohms where it is off, if left out
    #[arg(long, value_enum)]
    mode: Option<ModeArg>,
    /// Print JSON instead of a table
    #[arg(long)]
    json: bool,
}

/// What the meter is set to, as words of the command line.
#[derive(Clone, Copy, Debug, clap::ValueEnum)]
enum ModeArg {
    AcVolts,
    LowImpedance,
    DcVolts,
    Ohms,
    Continuity,
    Farads,
}

impl ModeArg {
    const fn mode(self) -> Mode {
        match self {
            Self::AcVolts => Mode::AcVolts,
            Self::LowImpedance => Mode::LowImpedanceVolts,
            Self::DcVolts => Mode::DcVolts,
            Self::Ohms => Mode::Ohms,
            Self::Continuity => Mode::Continuity,
            Self::Farads => Mode::Farads,
        }
    }
}

/// Runs the command.
pub(super) fn run(args: ProbeArgs) -> miette::Result<()> {
    let appliance = args.situation.appliance()?;
    let state = args.situation.state(&appliance)?;
    let fault = args.situation.fault(&appliance)?;
    let usual = if state.energised { Mode::AcVolts } else { Mode::Ohms };
    let mode = args.mode.map_or(usual, ModeArg::mode);
    if state.energised && mode.wants_dead() {
        return Err(miette::miette!(
            help = "choose another --state; resistance and capacitance are measured with the supply off",
            "the supply is on in the state `{}`",
            state.id
        ));
    }
    let pairs = args.pairs(&appliance)?;
    let nodes: Vec<NodeId> =
        appliance.points.iter().map(|point| node(&appliance, &point.id).clone()).collect();
    let circuit = appliance.circuit(state, fault.as_ref());
    let survey = circuit.survey(mode, &nodes, &Meter::SERVICE, &Samples::default()).map_err(unsolved)?;
    let probed = Probed { appliance: &appliance, state, fault, mode, pairs, survey };
    if args.json {
        println!("{:#}", probed.json());
    } else {
        print!("{}", probed.table());
    }
    Ok(())
}

/// A circuit that cannot be solved in this state or under this fault, by the names of its parts.
pub(super) fn unsolved(flaws: Vec<Flaw>) -> miette::Report {
    let told: Vec<String> = flaws.iter().map(ToString::to_string).collect();
    miette::miette!(
        help = "look at the elements named, in this state and under this fault",
        "{}",
        told.join("; ")
    )
}

impl ProbeArgs {
    fn pairs(&self, appliance: &Appliance) -> miette::Result<Vec<(usize, usize)>> {
        let names = || appliance.points.iter().map(|point| point.id.as_str());
        let place = |wanted: &String| {
            names().position(|name| name == wanted).ok_or_else(|| unknown("point", wanted, names()))
        };
        if self.pair.is_empty() {
            let count = appliance.points.len();
            return Ok((0..count).flat_map(|a| (a + 1..count).map(move |b| (a, b))).collect());
        }
        self.pair.chunks(2).map(|pair| Ok((place(&pair[0])?, place(&pair[1])?))).collect()
    }
}

fn node<'a>(appliance: &'a Appliance, point: &PointId) -> &'a NodeId {
    appliance.node(point).expect("a sound model knows the nodes of its points")
}

/// Everything that was asked for.
struct Probed<'a> {
    appliance: &'a Appliance,
    state: &'a State,
    fault: Option<FaultId>,
    mode: Mode,
    pairs: Vec<(usize, usize)>,
    survey: Survey,
}

impl Probed<'_> {
    fn rows(&self) -> impl Iterator<Item = (&PointId, &PointId, &Shown)> {
        let name = |point: usize| &self.appliance.points[point].id;
        self.pairs.iter().map(move |&(a, b)| {
            let shown = self.survey.between(a, b).expect("every point is on a node of the circuit");
            (name(a), name(b), shown)
        })
    }

    fn table(&self) -> String {
        let fault = self.fault.as_ref().and_then(|fault| self.appliance.fault(fault));
        let wrong = fault.map_or("nothing wrong", |fault| fault.name.as_str());
        let mut table = format!("{}, {}: {wrong}\n", self.appliance.name, self.state.name);
        let display = |value| Meter::SERVICE.display(self.mode, value);
        let rows: Vec<[String; 4]> = self
            .rows()
            .map(|(a, b, shown)| match shown {
                Shown::Overload => [a.to_string(), b.to_string(), "OL".into(), String::new()],
                Shown::Value(band) => {
                    let beep = self.mode == Mode::Continuity && Meter::SERVICE.beeps(band.nominal);
                    let reads = format!("{}{}", display(band.nominal), if beep { ", beeps" } else { "" });
                    let between = format!("{} to {}", display(band.low), display(band.high));
                    [a.to_string(), b.to_string(), reads, between]
                }
            })
            .collect();
        let head = ["from", "to", "reads", "in 95 of 100 machines"].map(str::to_owned);
        let width = |column: usize| {
            let cells = std::iter::once(&head).chain(&rows);
            cells.map(|row| row[column].chars().count()).max().unwrap_or(0)
        };
        let widths = [width(0), width(1), width(2), 0];
        for row in std::iter::once(&head).chain(&rows) {
            let cells = row.iter().zip(widths).map(|(cell, width)| format!("{cell:width$}"));
            let line = cells.collect::<Vec<_>>().join("  ");
            let _ = writeln!(table, "{}", line.trim_end());
        }
        table
    }

    fn json(&self) -> serde_json::Value {
        let rows = self.rows().map(|(from, to, shown)| match shown {
            Shown::Overload => json!({ "from": from, "to": to, "overload": true }),
            Shown::Value(band) => json!({
                "from": from,
                "to": to,
                "value": band.nominal,
                "low": band.low,
                "high": band.high,
            }),
        });
        json!({
            "appliance": self.appliance.id,
            "state": self.state.id,
            "fault": self.fault,
            "unit": self.mode.unit().symbol(),
            "low-impedance": self.mode == Mode::LowImpedanceVolts,
            "readings": rows.collect::<Vec<_>>(),
        })
    }
}
