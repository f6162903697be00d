//! The optimiser: from a job to a plan. See module docs.
pub mod costs;
pub mod integer;
pub mod joint;
pub mod lp;
pub mod model;
pub mod patterns;
pub mod pricing;
pub mod search;
pub mod solution;
mod terms;
