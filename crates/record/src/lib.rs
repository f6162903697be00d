//! The day itself: the log beside a plan (`line`, `log`), what follows from plan and log together (`state`), and what
//! stays of the plan when something has gone wrong (`stays`, `replan`). Records themselves are plain data of the plan
//! crate. What must not live here: the making of plans (what is cut anew is planned by the optimiser, outside), the
//! judging of them, printing, and the clock: every record brings its own time.

#![deny(missing_docs)]

mod added;
mod line;
pub mod log;
mod problem;
pub mod replan;
mod state;
mod stays;
mod wanted;

pub use added::{brings_more, read_added, with_added};
pub use problem::{Code, Problem};
pub use state::{Laid, Made, Misfit, State, sound};
pub use stays::{Stays, stays};
pub use wanted::Line;
