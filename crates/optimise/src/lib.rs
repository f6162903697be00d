//! The optimiser: from a job to a plan. See module docs.
pub mod costs;
pub mod integer;
pub mod certify;
pub mod joint;
pub mod layups;
pub mod questions;
pub mod lp;
pub mod model;
pub mod patterns;
pub mod pricing;
pub mod search;
pub mod solution;
mod terms;
