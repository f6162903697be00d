//! Patches as geometry: the finished outline, the cut outline around it, tips,
//! handedness, grain, areas, several patches on one position, and rectangles
//! turned on a board. Outlines are drawn in floats that are made from `+ - * /`
//! and square roots only, so they come out the same on every machine; every
//! size that decides a fit leaves here as an exact `Length`. What must not live
//! here: fabrics, plies, bays and any rule about what may be cut together.

mod angle;
mod arrange;
pub mod board;
mod error;
mod finished;
mod geometry;
mod grain;
mod hand;
mod natural;
mod offset;
mod outline;
mod shape;
mod simple;
mod tips;
mod trig;

pub use angle::{Angle, AngleError, Turn};
pub use arrange::{Arranged, Arrangement, PlacedPatch, arrange};
pub use error::ShapeError;
pub use finished::Finished;
pub use geometry::{Bounds, Edge, Point};
pub use grain::Grain;
pub use outline::Outline;
pub use shape::{Areas, Shape, Tips};
