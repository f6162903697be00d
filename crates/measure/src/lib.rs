//! Exact lengths, areas, money and percentages, with the ways people write
//! them. Everything here is an integer: what decides whether a patch fits or
//! which plan is cheaper is never a float. Parsing and printing live here too,
//! so that one text means one length everywhere. What must not live here:
//! anything that knows what a shape, a fabric or a board is, and any rounding
//! that is not named for the side it rounds to.

mod area;
mod length;
mod money;
mod number;
mod parse;
mod percent;
mod show;

pub use area::Area;
pub use length::Length;
pub use money::{Amount, AmountError, Money, Per, Price};
pub use parse::{LengthError, LengthFault, UnitSystem, parse_length};
pub use percent::{
    Percent, PercentError, buy_length, largest_remainder, round_up_to_step, width_after_washing,
};
