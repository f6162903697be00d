//! What can be wrong with a shape or with several patches on one position.

use patchlay_measure::Length;

use crate::Angle;

/// Why a shape cannot be made, or cannot be arranged as asked.
///
/// The sentence of `Display` (also [`ShapeError::problem`]) says what is wrong;
/// [`ShapeError::hint`] says what to do.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum ShapeError {
    /// A size is zero or negative.
    #[error("the {what} is not above zero")]
    NotPositive {
        /// Which size.
        what: &'static str,
    },
    /// A size is above what this program draws, 10 m.
    #[error("the {what} is more than 10 m")]
    TooLarge {
        /// Which size.
        what: &'static str,
    },
    /// A length must be halved exactly and cannot be.
    #[error("half of the {what} is not a whole number of units")]
    NotHalved {
        /// Which size.
        what: &'static str,
    },
    /// The angle of a diamond or parallelogram leaves no room for a patch.
    #[error("the angle {angle} is not between 5° and 175°")]
    AngleOutOfRange {
        /// The angle given.
        angle: Angle,
    },
    /// The widest point of a kite is not between its ends.
    #[error("the shoulder of the kite is not between its two ends")]
    ShoulderOutside,
    /// The square around a concave curve is not larger than its radius.
    #[error("the outer side is not longer than the radius of the curve")]
    CurveFillsSquare,
    /// The seam allowance eats the concave curve up.
    #[error(
        "the seam allowance leaves nothing of the inner curve: the radius is not more than twice the seam"
    )]
    InnerCurveCollapsed,
    /// Fewer than three corners.
    #[error("the outline has {count} corners, and needs at least three that are real corners")]
    TooFewCorners {
        /// Corners left after straight-through ones are dropped.
        count: usize,
    },
    /// More corners than any patch has.
    #[error("the outline has {count} corners; at most 64 are taken")]
    TooManyCorners {
        /// Corners given.
        count: usize,
    },
    /// Two corners one after another are the same point.
    #[error("corners {first} and {second} are the same point")]
    RepeatedCorner {
        /// Number of the first, from 1.
        first: usize,
        /// Number of the second, from 1.
        second: usize,
    },
    /// The outline crosses or touches itself.
    #[error("the side after corner {first} crosses or touches the side after corner {second}")]
    CrossesItself {
        /// Corner before the first side, from 1.
        first: usize,
        /// Corner before the second side, from 1.
        second: usize,
    },
    /// A corner is too sharp to sew or to offset.
    #[error("corner {corner} is sharper than 5°")]
    TooSharp {
        /// Number of the corner, from 1.
        corner: usize,
    },
    /// The seam allowance swallows a side of a hollow outline, or two sides'
    /// allowances run into each other.
    #[error("the seam allowance runs into itself near corner {corner}")]
    SeamRunsIntoItself {
        /// Number of the corner nearby, from 1.
        corner: usize,
    },
    /// No patches asked for, or more than a position may hold.
    #[error("{count} patches on one position; it takes 1 to 1000")]
    CountOutOfRange {
        /// Patches asked for.
        count: u64,
    },
    /// The arrangement holds another number of patches.
    #[error("this arrangement holds {holds} patches, not {count}")]
    CountMismatch {
        /// Patches that the arrangement holds.
        holds: u64,
        /// Patches asked for.
        count: u64,
    },
    /// The shape does not share a rectangle like that.
    #[error("only {which} can be arranged like that")]
    DoesNotShare {
        /// Which shapes can.
        which: &'static str,
    },
    /// Two hands of a handed shape cannot share one rectangle.
    #[error("patches of both hands cannot share a rectangle along its diagonal")]
    MixedHands,
    /// The gap between patches is negative.
    #[error("the gap between patches is negative")]
    NegativeGap,
    /// The seam allowance is negative or more than 10 m.
    #[error("the seam allowance {} is negative or absurd", .seam.show(patchlay_measure::UnitSystem::Inch))]
    SeamOutOfRange {
        /// The seam allowance given.
        seam: Length,
    },
}

impl ShapeError {
    /// What is wrong, as one sentence.
    #[must_use]
    pub fn problem(&self) -> String {
        self.to_string()
    }

    /// What to do about it.
    #[must_use]
    pub fn hint(&self) -> &'static str {
        match self {
            Self::NotPositive { .. } => "give a finished size above zero",
            Self::TooLarge { .. } => "check the unit: a bare number is inches or centimetres",
            Self::NotHalved { .. } => "choose a size in whole 1/32 in or 0.2 mm",
            Self::AngleOutOfRange { .. } => "give the sharper inside corner, for example 45 or 60",
            Self::ShoulderOutside => "measure the shoulder along the axis, from the lower tip",
            Self::CurveFillsSquare => "make the outer side longer or the radius shorter",
            Self::InnerCurveCollapsed => "use a larger radius or a narrower seam allowance",
            Self::TooFewCorners { .. } => "list every corner once, in order around the patch",
            Self::TooManyCorners { .. } => "leave out corners that lie on a straight side",
            Self::RepeatedCorner { .. } => "list every corner once; the last joins the first by itself",
            Self::CrossesItself { .. } => "list the corners in order around the patch",
            Self::TooSharp { .. } => "such a patch cannot be sewn; widen the corner",
            Self::SeamRunsIntoItself { .. } => "make the hollow wider, or the seam allowance narrower",
            Self::CountOutOfRange { .. } => "give each position between 1 and 1000 patches",
            Self::CountMismatch { .. } => "change the number of patches or the arrangement",
            Self::DoesNotShare { .. } => "use a row or a grid for this shape",
            Self::MixedHands => "use a row, or two positions",
            Self::NegativeGap => "give 0 or more",
            Self::SeamOutOfRange { .. } => "1/4 in is usual",
        }
    }
}
