//! chargesplit plans the recovery of a refrigerant charge into refillable cylinders, every one under its limit.

pub mod audit;
pub mod cylinder;
pub mod files;
pub mod job;
pub mod plan;
pub mod planner;
pub mod quantity;
pub mod refrigerant;
