//! The audit's own fold of a ledger against the ledger's, on what several writers wrote without knowing of each other; and
//! cylinders spoiled one fact at a time.

mod agreement;
mod apart;
mod spoiled;
mod writers;

pub use spoiled::codes;
