//! The words that stand for choices, beside the choices themselves.

use crate::spec::{
    AimKind, Arrangement, BagsBy, PrintDirection, ShapeKind, SparesGo, Tips, TravelRule, Units, Washing, Work,
};

/// A field that takes one of a few words.
pub(crate) trait Choice: Copy + 'static {
    /// Every word with what it stands for.
    const WORDS: &'static [(&'static str, Self)];

    /// The words alone.
    fn words() -> Vec<&'static str> {
        Self::WORDS.iter().map(|(word, _)| *word).collect()
    }
}

macro_rules! choices {
    ($($kind:ident { $($word:literal = $value:ident,)* })*) => {
        $(impl Choice for $kind {
            const WORDS: &'static [(&'static str, Self)] = &[$(($word, Self::$value)),*];
        })*
    };
}

choices! {
    Units { "inch" = Inch, "metric" = Metric, }
    TravelRule {
        "strip_along_travel" = StripAlongTravel,
        "strip_across_travel" = StripAcrossTravel,
        "either" = Either,
    }
    Washing { "before_washing" = BeforeWashing, "after_washing" = AfterWashing, }
    PrintDirection { "none" = None, "one_way" = OneWay, "caution" = Caution, }
    ShapeKind {
        "square" = Square,
        "rectangle" = Rectangle,
        "half_square_triangle" = HalfSquareTriangle,
        "quarter_square_triangle" = QuarterSquareTriangle,
        "half_rectangle_triangle" = HalfRectangleTriangle,
        "goose" = Goose,
        "goose_sky" = GooseSky,
        "equilateral_triangle" = EquilateralTriangle,
        "diamond" = Diamond,
        "parallelogram" = Parallelogram,
        "trapezoid" = Trapezoid,
        "kite" = Kite,
        "hexagon" = Hexagon,
        "octagon" = Octagon,
        "convex_quarter" = ConvexQuarter,
        "concave_quarter" = ConcaveQuarter,
        "polygon" = Polygon,
    }
    Tips { "trimmed" = Trimmed, "untrimmed" = Untrimmed, }
    BagsBy { "quilt" = Quilt, "block" = Block, "helper" = Helper, }
    SparesGo { "one_bag" = OneBag, "shared_out" = SharedOut, }
    Work {
        "press" = Press,
        "strips" = Strips,
        "fold" = Fold,
        "crank" = Crank,
        "lift_out" = LiftOut,
        "check_bags" = CheckBags,
    }
    Arrangement { "single" = Single, "row" = Row, "pair" = Pair, "four" = Four, }
    AimKind {
        "least_cloth" = LeastCloth,
        "fewest_passes" = FewestPasses,
        "least_time" = LeastTime,
        "least_cost" = LeastCost,
        "weighted" = Weighted,
    }
}
