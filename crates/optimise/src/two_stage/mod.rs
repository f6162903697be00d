//! Fabrics with too many items for the oracle's table, all together: the relaxation's own mixture of strips is rounded
//! down, which keeps the loads of the boards as even as the relaxation has them, and only what is then missing of every
//! fabric is searched for.

pub(crate) mod beam;
mod mixture;
mod round;
mod slots;

pub use round::{Reach, rounded};
pub use slots::slots;
