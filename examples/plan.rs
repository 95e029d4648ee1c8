//! Plans the jobs whose files are named, and prints each cylinder with the scale reading to stop at:
//! `cargo run --example plan scenarios/cold-store.yaml`.
#![allow(clippy::print_stdout)]

use std::path::PathBuf;

use chargesplit::{Options, Request, Today, plan_files};

fn main() {
    let jobs: Vec<PathBuf> = std::env::args_os().skip(1).map(PathBuf::from).collect();
    let today = Today::new(|| jiff::ZonedDateTime::now().date());
    let request = Request { jobs: &jobs, today: &today, skip_bad_rows: false };
    let planned = match plan_files(&request, &Options::default(), &mut |_| true) {
        Ok(planned) => planned,
        Err(why_not) => return println!("{why_not}"),
    };
    let plan = planned.plan();
    println!("{}: {} cylinders", plan.status.name(), plan.totals.cylinders);
    for load in &plan.loads {
        println!("{} takes {}: stop at {}", load.cylinder, load.refrigerant, plan.division.reading(load.stop));
    }
}
