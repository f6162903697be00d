//! A shape with its seam allowance.

use patchlay_measure::{Area, Length};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::finished::{MAX_SIDE, float};
use crate::outline::rounded_up;
use crate::{Finished, Grain, Outline, ShapeError, Turn, hand, offset, tips};

/// What happens at acute corners.
#[derive(
    Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "lowercase")]
pub enum Tips {
    /// The full mitre stays.
    #[default]
    Untrimmed,
    /// The dog-ear is cut away: see the module on tips.
    Trimmed,
}

/// The areas of one patch, each rounded to the nearest square unit or made by
/// subtraction, so that they add up exactly.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Areas {
    /// The cut patch as the blades leave it.
    pub cut: Area,
    /// What shows in the quilt.
    pub finished: Area,
    /// The seam allowance that stays in the quilt: mitred outline less the
    /// finished patch and less the tips.
    pub seam: Area,
    /// The dog-ears, the parts of the mitres beyond the trimming lines, whether
    /// or not the blades trim them. Untrimmed: `cut` = finished + seam + tips,
    /// and the tips are cut off after sewing. Trimmed: `cut` = finished + seam,
    /// and the tips are waste between the blades.
    pub tips: Area,
}

/// A shape: its finished outline and the cut outline around it.
///
/// Outlines lie in the natural placing of the kind (see [`Finished`]), moved so
/// that the box of the *cut* outline has its lower left corner at the origin.
#[derive(Clone, Debug, PartialEq)]
pub struct Shape {
    kind: Finished,
    seam: Length,
    tips: Tips,
    finished: Outline,
    mitred: Outline,
    cut: Outline,
    areas: Areas,
    handed: bool,
}

impl Shape {
    /// Builds the outlines of a finished shape with a seam allowance.
    ///
    /// # Errors
    /// [`ShapeError`] for sizes that are not positive, angles out of range,
    /// outlines that cross themselves, and allowances that do not fit.
    pub fn new(kind: &Finished, seam: Length, tips: Tips) -> Result<Self, ShapeError> {
        if seam < Length::ZERO || seam > MAX_SIDE {
            return Err(ShapeError::SeamOutOfRange { seam });
        }
        if let Finished::ConcaveQuarter { radius, .. } = kind
            && *radius <= seam * 2
        {
            return Err(ShapeError::InnerCurveCollapsed);
        }
        let finished = kind.outline()?;
        let mitred = offset::outwards(kind, &finished, float(seam))?;
        let trimmed = tips::trimmed(kind, &finished, &mitred, float(seam));
        let areas = areas(&finished, &mitred, &trimmed, tips);
        let cut = match tips {
            Tips::Untrimmed => mitred.clone(),
            Tips::Trimmed => trimmed,
        };
        let low = cut.bounds().low;
        let place = |outline: Outline| outline.moved(-low.x, -low.y);
        Ok(Self {
            kind: kind.clone(),
            seam,
            tips,
            finished: place(finished),
            mitred: place(mitred),
            cut: place(cut),
            areas,
            handed: hand::handed(kind),
        })
    }

    /// The kind and its finished sizes.
    #[must_use]
    pub const fn kind(&self) -> &Finished {
        &self.kind
    }

    /// The seam allowance.
    #[must_use]
    pub const fn seam(&self) -> Length {
        self.seam
    }

    /// Whether the tips are trimmed.
    #[must_use]
    pub const fn tips(&self) -> Tips {
        self.tips
    }

    /// The finished outline, the seam lines.
    #[must_use]
    pub const fn finished(&self) -> &Outline {
        &self.finished
    }

    /// The cut outline, where the blades are.
    #[must_use]
    pub const fn cut(&self) -> &Outline {
        &self.cut
    }

    /// The cut outline with full mitres, whatever the tips are.
    #[must_use]
    pub const fn mitred(&self) -> &Outline {
        &self.mitred
    }

    /// Width of the box of the cut outline in its natural placing. A value
    /// within a thousandth of a unit of a whole one is that one; any other is
    /// rounded up.
    #[must_use]
    pub fn cut_width(&self) -> Length {
        rounded_up(self.cut.bounds().width())
    }

    /// Height of the box of the cut outline in its natural placing, rounded
    /// like [`Shape::cut_width`].
    #[must_use]
    pub fn cut_height(&self) -> Length {
        rounded_up(self.cut.bounds().height())
    }

    /// Cut, finished, seam and tip areas of one patch.
    #[must_use]
    pub const fn areas(&self) -> Areas {
        self.areas
    }

    /// Whether no turn maps the shape to its mirror image.
    #[must_use]
    pub const fn handed(&self) -> bool {
        self.handed
    }

    /// The cut outline mirrored left to right within its own box.
    #[must_use]
    pub fn mirrored(&self) -> Outline {
        let width = self.cut.bounds().high.x;
        self.cut.mirrored().moved(width, 0.0)
    }

    /// For each edge of the finished outline, in order, how it lies to the
    /// threads when the natural placing is turned by `turn` on a cloth whose
    /// threads run along the axes. A mirrored patch has the grain of the
    /// opposite turn, in the opposite order.
    #[must_use]
    pub fn grain(&self, turn: Turn) -> Vec<Grain> {
        self.finished.grain(turn)
    }
}

/// `area`, raised to `least` where it falls short by one unit of rounding; a larger shortfall is left to be seen.
fn at_least_within_a_unit(area: Area, least: Area) -> Area {
    if area.units() + 1 == least.units() { least } else { area }
}

fn areas(finished: &Outline, mitred: &Outline, trimmed: &Outline, tips: Tips) -> Areas {
    // Each outline holds the one before it, but where two coincide (no seam, no tips) their floating-point areas may
    // round to neighbouring units: the larger outline is then given the smaller one's area.
    let finished = finished.rounded_area();
    let without = at_least_within_a_unit(trimmed.rounded_area(), finished);
    let whole = at_least_within_a_unit(mitred.rounded_area(), without);
    Areas {
        cut: match tips {
            Tips::Untrimmed => whole,
            Tips::Trimmed => without,
        },
        finished,
        seam: without - finished,
        tips: whole - without,
    }
}
