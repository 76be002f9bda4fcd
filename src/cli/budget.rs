//! What the start-up parts allow.

use std::path::{Path, PathBuf};

use clap::Args;

use super::choices::{self, Named, NamedPart};
use super::deliver::Delivery;
use super::options::{LibraryArgs, twice};
use crate::data::Options;
use crate::data::budget::{BudgetRequest, Feed};
use crate::data::job::Run;
use crate::data::options::Accuracy;
use crate::data::typed::Input;
use crate::inspect;
use crate::job;
use crate::report::{json, text};

/// Options of `budget`.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  firstpulse budget --input 230ac --controller UC3844 --part start-resistor=220k --part vcc-capacitor=47u\n  firstpulse budget --input 230ac --controller UC3844 --part 'start-resistor=110k 5%+110k 5%' --part vcc-capacitor=47u --part rt=13k --part ct=102\n  firstpulse budget --part 'start-resistor=220k 5%' --reading start-resistor=217.8k\n  firstpulse budget jobs/gv24-0117"
)]
pub struct BudgetArgs {
    /// A job: takes input, controller, parts and meter from its record, and the readings of its first run; what is told here goes before
    #[arg(value_name = "JOB")]
    job: Option<PathBuf>,
    /// The supply's own input, for instance 230ac, 230ac±6%, 85..265ac or 48dc; ±10 % where no limits are told
    #[arg(long, value_name = "230ac|48dc", value_parser = crate::data::typed::feed)]
    input: Option<Feed>,
    /// What is printed on the controller, for instance UC3844AN
    #[arg(long, value_name = "MARKING")]
    controller: Option<String>,
    /// A part as marked, with its tolerance if known, for instance start-resistor='110k 5%+110k 5%', vcc-capacitor=47u, ct=102, leakage=20k, take-over-time=10ms, bulk-capacitor=100u or bulk-power=60W; repeat for more
    #[arg(long = "part", value_name = "NAME=VALUE", value_parser = choices::budget_part)]
    parts: Vec<NamedPart>,
    /// A reading taken by hand, for instance bulk=325V, standby-current=0.4mA, vcc=15V, of a part as start-resistor=217.8k, or of a ramp as ramp-rise=18us; repeat for more
    #[arg(long = "reading", value_name = "NAME=VALUE", value_parser = choices::budget_reading)]
    readings: Vec<Named>,
    /// The multimeter's accuracy, for instance 0.5%+10mV
    #[arg(long, value_name = "0.5%+10mV", value_parser = choices::meter)]
    meter: Option<Accuracy>,
    #[command(flatten)]
    library: LibraryArgs,
    #[command(flatten)]
    delivery: Delivery,
}

pub(super) fn run(args: &BudgetArgs) -> anyhow::Result<u8> {
    args.delivery.check(&[])?;
    twice("--part", args.parts.iter().cloned())?;
    twice("--reading", args.readings.iter().cloned())?;
    let library = args.library.library()?;
    let (mut told, mut request) = match &args.job {
        Some(folder) => of_job(folder)?,
        None => Default::default(),
    };
    request.feed = args.input.or(request.feed);
    request.marks.extend(args.parts.iter().cloned());
    request.readings.extend(args.readings.iter().cloned());
    request.meter = args.meter.or(request.meter);
    if let Some(marking) = &args.controller {
        told.controller = Some(marking.clone());
        told.marking_not_trusted = false;
    }
    let mut budget = match (&told.controller, told.marking_not_trusted) {
        (Some(marking), true) => inspect::budget_of_class(&request, marking, &library)?,
        (marking, _) => inspect::budget(&request, marking.as_deref(), &library)?,
    };
    budget.remarks.extend(library.told().iter().cloned());
    if budget.exit_code() != 0 {
        let mut reasons: Vec<&str> = Vec::new();
        for (_, why) in budget.why_not.iter().chain(&budget.timing.why_not) {
            if why.contains("not told") && !reasons.contains(&why.as_str()) {
                reasons.push(why);
            }
        }
        anyhow::bail!(
            "nothing can be computed: {}; begin with --input 230ac --controller UC3844 --part \
             start-resistor=220k --part vcc-capacitor=47u",
            reasons.join("; ")
        );
    }
    if args.delivery.json {
        args.delivery.object(&json::startup_budget(&budget), &[])?;
    } else {
        let page = text::startup_budget(&budget, args.delivery.ascii());
        args.delivery.text(&page, &[])?;
    }
    Ok(0)
}

/// What the record of a job tells, its first run included.
fn of_job(folder: &Path) -> anyhow::Result<(Options, BudgetRequest)> {
    let mut job = job::read(folder)?;
    if job.runs.is_empty() {
        job.runs.push(Run::default());
    }
    let told = job.options(0).unwrap_or_default();
    let request = BudgetRequest::of(&told, job.input.map(Input::feed));
    Ok((told, request))
}
