//! The scenario file: what a person writes (`spec`), what can be wrong with it (`problem`), and the
//! validated, immutable [`Job`] with dense ids, exact lengths, bays and demand (`job`).
//!
//! Data flows one way: text -> [`spec::Scenario`] -> validation that collects **all** problems -> [`Job`].
//! Nothing here knows about plans, solvers or sheets; no floating-point number decides anything.

pub mod job;
pub mod problem;
pub mod spec;

pub use job::Job;
pub use problem::{Code, LoadError, Problem};
