//! Plans of one field, and the proof that there is none cheaper: branch and price.
//!
//! `root` is the way through: the bound, a first plan (`sequence`), then `branch`, which divides the field (`divide`) and
//! dives for plans (`dive`). `answer` is what is asked and known. Where the weight carried stays open, `neighbourhood`
//! improves the plan two lots at a time, and `sets` proves it: what every plan's cylinders keep (`rows`) is summed (`cut`)
//! and the sets that keep it are gone through (`walk`).

pub mod answer;
pub mod branch;
pub mod cut;
pub mod dive;
pub mod divide;
pub mod neighbourhood;
pub mod root;
pub mod rows;
pub mod sequence;
pub mod sets;
pub mod walk;
