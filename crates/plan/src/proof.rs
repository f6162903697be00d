//! Certificates of lower bounds, small enough to store and simple enough to re-price exactly.
//!
//! Every bound is the value of a dual solution of this linear program (a relaxation of the problem):
//!
//! * a *strip column* of fabric f has a width w and carries plies; the runs of its plies add up to at most the
//!   strip capacity of f, and each ply's own width is at most w;
//! * a ply of fabric f in bay y of board b, face up or down, yields patches of the demand lines and loads every
//!   point of the board that the bay touches by 1/l, where l is the lower of the fabric's and the board's ply limit;
//! * demand is covered; at every point the load is at most the passes X_b of the board.
//!
//! Weak duality: take prices `demand[d] >= 0` per patch, `points[b][p] >= 0` per unit of load. If for every board
//! the point prices add up to at most its price of a pass, and for every fabric and strip width no strip column is
//! worth more than it costs (the worth of a ply is its patches at the demand prices less its load at the point
//! prices, less the price of a ply, when positive), then every plan costs at least the sum of demand x price.
//! (Gilmore and Gomory, Operations Research 9 (1961) and 11 (1963), for the strip columns.)
//!
//! Figures earlier in the aim's order may be *held* at the plan's values: a multiplier on each held figure is added
//! to the costs, and the multiplier times the held value is taken off the bound.
//!
//! A *whole plan* of fabric f is a choice of strip columns, each a whole number of times, that covers the demand for f;
//! it costs its strips and plies plus the loads of its plies at the point prices. For some fabrics a part may state the
//! least that any whole plan costs ([`WholePlans`]); it then stands in the bound in place of the sum of demand x price
//! of that fabric. Every plan is made of whole plans of its fabrics, and its passes pay for its loads, so the bound
//! stays true (Dantzig-Wolfe decomposition by fabric; Geoffrion, Mathematical Programming Study 2 (1974)). To check
//! the least: a whole plan costs the worth of the demand plus, for every strip, what the strip costs above its own
//! worth at the demand prices; so one that costs less than the stated least has only strips that are above their worth
//! by less than what is between the two, and a shortest path over what is still wanted finds the cheapest cover with
//! those.
//!
//! A proof over all fabrics may speak of *cases* of passes ([`PassesOf`]), one part for each: plans in which a board makes
//! at most so many passes and plans in which it makes more, and so on. In a case the point prices of a board with a most
//! may add up to more than its price of a pass; what they are over, times the most, is taken off the bound, and what they
//! are under, times the least, is added to it. Every plan falls into some case, and the lowest of their bounds holds for
//! all (branch and price; Barnhart, Johnson, Nemhauser, Savelsbergh and Vance, Operations Research 46 (1998)).
//!
//! Costs of one stage (every coefficient exact):
//!
//! | figure   | per unit of strip width of f | per strip | per ply of f | per pass | constant |
//! |----------|---|---|---|---|---|
//! | Passes   | 0 | 0 | 0 | 1 | 0 |
//! | Weighted | 1 | 0 | 0 | pass length | sum over f: kept back + squaring |
//! | Area     | width of f | 0 | 0 | 0 | sum over f: width x (kept back + squaring) |
//! | Money    | price of a unit / (1 - p) (without prices: stated width / (1 - p)) | 0 | 0 | 0 | sum over f: the same x (kept back + squaring) |
//! | Seconds  | 0 | cut strip + press strip | t_f | crank + turn mat + lift out + count | sum over f: square, + change board |
//! | Cost     | as Money | worth x as Seconds | worth x t_f | worth x as Seconds | as Money + worth x as Seconds |
//!
//! Squaring, the time to square and the board change count only for fabrics with demand (a plan must cut them); what
//! is kept back always counts. t_f = cross cut + place where f may not be folded, else the least of that and
//! (cross cut + fold) / l_f (only where l_f >= 2), because a folded length makes at most l_f plies, l_f being the most plies of f on any
//! board.
//!
//! The bound of a part is: constant + sum of demand x price - sum of held multiplier x held value. It is brought to
//! the figure as follows.
//!
//! * Parts of one fabric (Money and Area only; no point prices, nothing held but passes never): the part's costs are 1
//!   per unit of strip width and nothing else, so its value bounds the strip widths W of that fabric. W is rounded up
//!   to the ruler step; at least n = ceil(W / widest strip of that fabric that any ply needs) strips carry it; length
//!   taken, bought, money and area follow by the same functions as the plan's own. The figure's bound is the sum over
//!   all fabrics (fabrics without demand: what is kept back).
//! * Parts of one fabric for Passes, only where the plan's strategy is `fabric by fabric`: a pass then holds one fabric,
//!   so the passes of a fabric alone are bounded by a part with its demand prices, point prices and, where cloth is
//!   held, its own multiplier; each is rounded up to whole passes, and the figure's bound is their sum.
//! * One part over all fabrics (of several cases the lowest): what varies is rounded up to the step of the figure, then the constant is added. Steps:
//!   passes 1; seconds 1; money and cost 1 unit of `Money`; weighted: the greatest common divisor of the ruler step,
//!   the pass length and every resquaring of a fabric with demand; area: the greatest common divisor of width x
//!   gcd(ruler step, resquaring) over the fabrics with demand.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::FigureKind;

/// An exact fraction. Written `"n/d"` in files.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Default)]
pub struct Rational {
    /// Numerator.
    pub n: i128,
    /// Denominator, positive.
    pub d: i128,
}

impl Serialize for Rational {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&format!("{}/{}", self.n, self.d))
    }
}

impl<'de> Deserialize<'de> for Rational {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        use serde::de::Error as _;
        let text = String::deserialize(deserializer)?;
        let bad = || D::Error::custom(format!("'{text}' is not a fraction n/d with a positive d"));
        let (n, d) = text.split_once('/').ok_or_else(bad)?;
        let (n, d): (i128, i128) = (n.parse().map_err(|_| bad())?, d.parse().map_err(|_| bad())?);
        if d <= 0 { Err(bad()) } else { Ok(Self { n, d }) }
    }
}

impl JsonSchema for Rational {
    fn schema_name() -> std::borrow::Cow<'static, str> {
        "Rational".into()
    }
    fn json_schema(_: &mut schemars::SchemaGenerator) -> schemars::Schema {
        schemars::json_schema!({"type": "string", "pattern": "^-?[0-9]+/[0-9]+$"})
    }
}

/// Proofs of the bounds of a plan, in the aim's order.
#[derive(Clone, Debug, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Certificate {
    /// One proof per bound.
    pub stages: Vec<StageProof>,
}

/// Proof of one bound; see the module's text for what follows from it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct StageProof {
    /// The figure.
    pub figure: FigureKind,
    /// One part over all fabrics, or one for every case, or one part for every fabric with demand.
    pub parts: Vec<PartProof>,
}

/// Dual prices of one linear program.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PartProof {
    /// The fabric that the part is about; none: all fabrics.
    pub fabric: Option<String>,
    /// Price per patch of every demand line, in the order of the job (zero for lines outside the part).
    pub demand: Vec<Rational>,
    /// Price per unit of load of every point, by board, in the order of the job.
    pub points: Vec<Vec<Rational>>,
    /// Multiplier per unit of length on the strip widths in all of every fabric, where the area of an earlier stage
    /// is held: each fabric's strip widths in all are held at the plan's. Empty: not held.
    pub held_cloth: Vec<Rational>,
    /// Multiplier on the passes in all, where an earlier stage holds them at the plan's number. 0/1: not held.
    pub held_passes: Rational,
    /// Fabrics for which the least cost of a whole plan is stated.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub whole: Vec<WholePlans>,
    /// The case of passes that the part is about; boards not named make any number. Empty: all plans.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub passes: Vec<PassesOf>,
}

/// How many passes a board makes in a case.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PassesOf {
    /// The board's name.
    pub board: String,
    /// Fewest passes.
    #[serde(default)]
    pub at_least: u32,
    /// Most passes, if there is a most.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at_most: Option<u32>,
}

/// What whole plans of one fabric cost at least.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct WholePlans {
    /// The fabric's name.
    pub fabric: String,
    /// No whole plan of it costs less, strips, plies and loads at the prices of the part.
    pub least: Rational,
}
