//! chargesplit plans the recovery of a refrigerant charge into refillable cylinders, every one under its limit.
//!
//! The rooms, from the top down; a room uses only rooms below it, and [`planner`] and [`audit`] never each other:
//!
//! | room | what it does |
//! |---|---|
//! | [`cli`] | the command line, the clock, what is printed where |
//! | [`report`] | one value for each question, drawn as text or data |
//! | [`files`] | jobs, yards and plans read from files, every problem located |
//! | [`field`] | readings, what is left, the close-out |
//! | [`estimate`] | hours and cost of a plan |
//! | [`transport`] | the truck's day and the rules of the road |
//! | [`planner`] | from the work to a loading plan: its question in whole numbers, its answer in words |
//! | [`audit`] | the same plan figured again from the input |
//! | [`plan`] | the loading plan: data |
//! | [`job`] | systems, terms, lots |
//! | [`cylinder`] | facts, ceilings, fitness |
//! | [`refrigerant`] | names and properties |
//! | [`quantity`] | weights, temperatures, pressures, densities |
//! | [`solver`] | the choice of cylinders in whole numbers, proved or bounded |

pub mod audit;
pub mod cli;
pub mod cylinder;
pub mod estimate;
pub mod field;
pub mod files;
pub mod job;
pub mod plan;
pub mod planner;
pub mod quantity;
pub mod refrigerant;
pub mod report;
pub mod solver;
pub mod transport;
