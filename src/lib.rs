//! chargesplit plans the recovery of a refrigerant charge into refillable cylinders.

pub mod planner;
pub mod quantity;
pub mod refrigerant;
