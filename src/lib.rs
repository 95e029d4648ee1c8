//! chargesplit plans the recovery of a refrigerant charge into refillable cylinders, every one under its limit.
//!
//! From files, [`plan_files`] gives what was read with a plan that has passed the audit; there is no other way to one:
//!
//! ```
//! use std::path::PathBuf;
//!
//! use chargesplit::{Options, Request, Today, date, plan_files};
//!
//! let jobs = [PathBuf::from("scenarios/cold-store.yaml")];
//! // Asked for only where a file doesn't say enough.
//! let today = Today::new(|| date(2026, 12, 1));
//! let request = Request { jobs: &jobs, today: &today, skip_bad_rows: false };
//! let planned = plan_files(&request, &Options::default(), &mut |_| true)?;
//! let plan = planned.plan();
//! for load in &plan.loads {
//!     println!("{} takes {}: stop at {}", load.cylinder, load.refrigerant, plan.division.reading(load.stop));
//! }
//! assert_eq!((plan.status.name(), plan.totals.cylinders), ("proved", 7));
//! # Ok::<(), chargesplit::NotPlanned>(())
//! ```
//!
//! From jobs and cylinders made in code, [`plan_work`] does the same. What can't be is refused where it is made:
//!
//! ```
//! use chargesplit::cylinder::{Contents, Cylinder, Facts, Mark, Terms, TestPeriod};
//! use chargesplit::job::{Allowance, Job, JobFacts, System, SystemFacts, Work};
//! use chargesplit::quantity::{Percent, Unit, Weight};
//! use chargesplit::refrigerant::{Fluid, Refrigerant};
//! use chargesplit::{Options, date, plan_work};
//!
//! let lb = |pounds: i64| Weight::pounds(pounds.into());
//! let r22 = Fluid::One(Refrigerant::find("R-22")?);
//! let system = System::new(SystemFacts {
//!     allowance: Allowance::Share(Percent::new(5.into())),
//!     ..SystemFacts::new("Rooftop 1", r22, lb(30))
//! })
//! .expect("a charge that a system can have");
//! let terms = Terms::usual(Unit::Lb.default_division(), date(2026, 12, 1));
//! let job = Job::new(JobFacts::new("Laundry roof", terms, vec![system])).expect("terms that can be planned");
//! let cylinder = Cylinder::new(Facts {
//!     mark: Some(Mark::parse("DOT-4BA400")?),
//!     test: Some(TestPeriod { since: None, good_through: date(2029, 6, 30) }),
//!     ..Facts::new("C-1", lb(28), lb(48), lb(28), Contents::Evacuated)
//! })
//! .expect("numbers that a cylinder can have");
//! let work = Work::new(vec![job], vec![cylinder])?;
//!
//! let audited = plan_work(&work, &Options::default(), &mut |_| true)?;
//! let plan = audited.plan();
//! // 28 lb of tare and 31.5 lb of charge.
//! assert_eq!(plan.division.reading(plan.loads[0].stop), "59.5");
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! A cylinder that is in danger already is in no plan; [`cylinder::alarms`] finds it, and whoever shows a plan shows that
//! first. A plan is a help, not a permit: local codes, the equipment's instructions and a licensed person's judgement come
//! before it.
//!
//! The rooms, from the top down; a room uses only rooms below it, and [`planner`] and [`audit`] never each other:
//!
//! | room | what it does |
//! |---|---|
//! | [`cli`] | the command line, the clock, what is printed where |
//! | [`report`] | one value for each question, drawn as text or data |
//! | [`door`] | from files or from values to an audited plan, in one call |
//! | [`text`] | jobs, yards and plans read from files, every problem located |
//! | [`recovery`] | readings, what is left, the close-out |
//! | [`disk`] | bytes of files: read up to a size, added under a lock, replaced whole |
//! | [`estimate`] | hours and cost of a plan |
//! | [`transport`] | the truck's day and the rules of the road |
//! | [`planner`] | from the work to a loading plan: its question in whole numbers, its answer in words |
//! | [`audit`] | the same plan figured again from the input |
//! | [`plan`] | the loading plan: data |
//! | [`ledger`] | what happened to the cylinders of a yard, and what is in each now |
//! | [`job`] | systems, terms, lots |
//! | [`problem`] | what is wrong with a file: code, place, words, drawing |
//! | [`cylinder`] | facts, ceilings, fitness |
//! | [`refrigerant`] | names and properties |
//! | [`printable`] | texts made safe for a terminal, JSON and tables |
//! | [`quantity`] | weights, temperatures, pressures, densities |
//! | [`solver`] | the choice of cylinders in whole numbers, proved or bounded |

pub mod audit;
pub mod cli;
pub mod cylinder;
pub mod disk;
pub mod door;
pub mod estimate;
pub mod job;
pub mod ledger;
pub mod plan;
pub mod planner;
pub mod printable;
pub mod problem;
pub mod quantity;
pub mod recovery;
pub mod refrigerant;
pub mod report;
pub mod solver;
pub mod text;
pub mod transport;

pub use door::{NotPlanned, Planned, plan_files, plan_work};
pub use jiff::civil::{Date, date};
pub use planner::{Effort, Options, Progress};
pub use text::{Request, Today};
