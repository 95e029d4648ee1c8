//! Plans of one field, and the proof that there is none cheaper.
//!
//! `quest` is the way through: a bound and a first plan (`first`, `dive`), pairs of lots (`pairs`), then `branch`, which
//! divides the field (`divide`), plunges for plans (`plunge`) and lists what a small gap leaves (`listing`). `answer` is
//! what is asked and known. A large field is searched roughly first (`rough`): cylinders allotted by what divisions are
//! worth (`allot`), then exchanged (`balance`, `exchange`, `trades`), or by coarser fields (`coarse`). `ration` is what
//! the proof of the number leaves to the covers.

pub mod allot;
pub mod answer;
pub mod balance;
pub mod branch;
pub mod coarse;
pub mod dive;
pub mod divide;
pub mod exchange;
pub mod first;
pub mod listing;
pub mod pairs;
pub mod plunge;
pub mod quest;
pub mod ration;
pub mod rough;
pub mod trades;
