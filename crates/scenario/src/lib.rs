//! The scenario file: what a person writes (`spec`), what can be wrong with it (`problem`), and the
//! validated, immutable [`Job`] with dense ids, exact lengths, bays and demand (`job`).
//!
//! Data flows one way: text -> [`spec::Scenario`] -> validation that collects **all** problems -> [`Job`].
//! Nothing here knows about plans, solvers or sheets; no floating-point number decides anything.

mod bays;
pub mod job;
pub mod lists;
mod load;
mod mats;
mod path;
pub mod problem;
mod read;
mod report;
mod schema;
pub mod sheet;
pub mod spec;
mod strategy;
mod tree;
mod validate;
mod words;

pub use job::Job;
pub use load::{LARGEST_FILE, load, load_bytes};
pub use mats::{MatPlace, choose_mats};
pub use problem::{Code, LoadError, Problem, code_page};
pub use schema::scenario_schema;
pub use strategy::{LoadingRule, PlyRule, Strategy};
pub use tree::place_of;
pub use validate::unseen;
pub use words::nearest;
