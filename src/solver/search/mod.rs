//! Plans of one field, and the proof that there is none cheaper: branch and price.
//!
//! `root` is the way through: the bound, a first plan (`sequence`), then `branch`, which divides the field (`divide`) and
//! dives for plans (`dive`). `answer` is what is asked and known. `resource` is what the proof of the number leaves to
//! the columns when the weight is looked for.

pub mod answer;
pub mod branch;
pub mod dive;
pub mod divide;
pub mod resource;
pub mod root;
pub mod sequence;
