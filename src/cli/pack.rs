//! `pack`: the truck for the morning.

use std::path::PathBuf;

use super::changes::{Changes, find};
use super::page::Page;
use super::units::{refuse_in_data, show_in};
use super::watching::Watching;
use super::{Exit, JobFiles, Output, Stop, seconds, site};
use crate::audit::Audited;
use crate::cylinder::Id;
use crate::disk::Input;
use crate::door::plan_work;
use crate::job::Work;
use crate::plan::Status;
use crate::planner::{Effort, Options};
use crate::report::{Alarms, Block, PackReport, Packed, pack_page};
use crate::text::read_truck;
use crate::transport::{Truck, changes, manifest};

#[derive(Debug, clap::Args)]
pub(super) struct PackArguments {
    /// Job files, in the order of the day; all on one yard; - is standard input
    #[arg(required = true, value_name = "JOB")]
    jobs: Vec<PathBuf>,
    /// The truck: payload, what is on it already, whose rules of the road
    #[arg(long, value_name = "FILE")]
    truck: Option<PathBuf>,
    /// Take this cylinder along as a spare; one that no job can use stays; may be given more than once
    #[arg(long, value_name = "ID")]
    pub(super) take: Vec<Id>,
    #[command(flatten)]
    pub(super) changes: Changes,
    /// Seconds after which the best plan so far is taken
    #[arg(long, value_name = "SECONDS", default_value_t = 10.0, value_parser = seconds)]
    time_limit: f64,
    /// With -o: a draft, which binds nothing
    #[arg(long, requires = "output")]
    draft: bool,
    #[command(flatten)]
    page: Page,
    #[command(flatten)]
    files: JobFiles,
}

pub(super) fn run(arguments: &PackArguments, output: &mut Output) -> Result<Exit, Stop> {
    refuse_in_data(arguments.files.json, output)?;
    arguments.page.check(output)?;
    let truck = arguments.truck.as_deref().map(read_truck).transpose();
    let doing = (arguments.page.is_asked() && !arguments.draft).then_some("pack");
    let mut opened = site::open(&arguments.jobs, arguments.files.skip_bad_rows, doing, output)?;
    // What is begun isn't packed for again.
    site::refuse_begun(&opened)?;
    let loaded = opened.loaded.clone();
    let (truck, truck_file) = truck?.map_or((Truck::unknown(), None), |(truck, input)| (truck, Some(input)));
    let inputs: Vec<Input> = loaded.inputs.iter().cloned().chain(truck_file).collect();
    inputs[loaded.inputs.len()..].iter().for_each(|input| output.detail_of(input));
    let whole = loaded.work;
    let work = arguments.changes.to(whole.clone(), output)?;
    for id in &arguments.take {
        find(&work, id)?;
    }
    let options = Options { effort: Effort::within(arguments.time_limit), ..Options::default() };
    let mut watching = Watching::start(arguments.time_limit, work.division(), output);
    let without = arguments.changes.without();
    let before = if without.is_empty() {
        None
    } else {
        Some(planned(&arguments.changes.with_all().to(whole, output)?, &options, &mut watching)?)
    };
    let plan = planned(&work, &options, &mut watching)?;
    watching.finish(output);
    output.planned([plan.plan()]);
    let manifest = manifest(&work, &plan, &truck, &arguments.take);
    let bring = loaded.extras.iter().zip(work.jobs());
    let bring = bring.flat_map(|(extras, job)| extras.bring.iter().map(move |what| format!("{what} ({})", job.name)));
    let report = PackReport::new(&Packed {
        work: &work,
        audited: &plan,
        truck: &truck,
        manifest: &manifest,
        bring: bring.collect(),
        changes: before.map(|before| (without.to_vec(), changes(before.plan(), plan.plan()))),
        skipped: &loaded.skipped,
    });
    let first = output.alarms().map(Alarms::blocks).unwrap_or_default();
    let mut first = first;
    if arguments.draft {
        first.push(Block::Note("DRAFT: it binds nobody, and its cylinders may be somebody else's by then.".into()));
    }
    let page = arguments.page.draw(&inputs, |inputs| pack_page(&report, &first, &inputs));
    show_in(report, work.division().unit(), arguments.files.json, output)?;
    if doing.is_some() {
        site::bind(
            &mut opened,
            &plan,
            arguments.changes.options(),
            arguments.truck.as_ref().map(|_| truck.name.clone()),
            output,
        )?;
    }
    arguments.page.write(page.as_deref(), output)?;
    let fits = matches!(plan.plan().status, Status::Proved | Status::Bounded);
    Ok(if fits && manifest.is_within_payload() { Exit::Done } else { Exit::No })
}

fn planned(work: &Work, options: &Options, watching: &mut Watching) -> Result<Audited, Stop> {
    Ok(plan_work(work, options, &mut |progress| watching.go_on(progress))?)
}
