//! chargesplit plans the recovery of a refrigerant charge into refillable cylinders.

pub mod quantity;
pub mod refrigerant;
pub mod planner;
