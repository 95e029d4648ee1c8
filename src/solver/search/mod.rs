//! Plans of one field, and the proof that there is none cheaper: branch and price.
//!
//! `root` is the way through: the bound, a first plan (`sequence`), then `branch`, which divides the field (`divide`) and
//! dives for plans (`dive`). `answer` is what is asked and known. Where the weight carried stays open, `neighbourhood`
//! improves the plan two lots at a time, and `resource` is what the proof of the number leaves to the columns.

pub mod answer;
pub mod branch;
pub mod dive;
pub mod divide;
pub mod neighbourhood;
pub mod resource;
pub mod root;
pub mod sequence;
