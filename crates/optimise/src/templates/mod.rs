//! Few templates: each says how many places a design has on it, every pressing of it yields one piece a place, and the
//! pressings of a given number of templates are to be fewest. Surplus pieces are allowed.
//!
//! The problem is that of Proll and Smith, INFORMS Journal on Computing 10(3), 1998 (CSPLib prob002). Once it is said
//! how often each template is pressed, what lies on them is a small covering question: `price` refutes most lists of
//! pressings, `fill` answers the rest exactly. Where all lists of a sum are refuted, no plan has that sum. Everything is
//! in integers. Work is counted; a clock is a stop only.

mod fill;
mod price;
#[cfg(test)]
mod tests;

use thiserror::Error;

use crate::listen::Stop;
use fill::Fill;
use price::{Prices, Verdict};

/// Designs, places and pressings.
pub type Count = i64;

/// Most places on a template.
pub const MOST_PLACES: Count = 1_000;
/// Most pieces of a design.
pub const MOST_WANTED: Count = 1_000_000;
/// Most templates.
pub const MOST_TEMPLATES: usize = 6;

/// What is wanted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Order {
    /// Places on a template.
    pub places: Count,
    /// Pieces wanted of every design.
    pub wanted: Vec<Count>,
    /// Templates at most.
    pub templates: usize,
}

/// What is wrong with an order.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum OrderError {
    /// A template must have places, and not too many to count.
    #[error("a template has {0} places: give a number from 1 to {MOST_PLACES}")]
    Places(Count),
    /// There must be templates, and not too many to search.
    #[error("{0} templates are allowed: give a number from 1 to {MOST_TEMPLATES}")]
    Templates(usize),
    /// A number must not be negative, nor beyond what is counted exactly.
    #[error("design {index} is wanted {count} times: give a number from 0 to {MOST_WANTED}")]
    Wanted {
        /// Place in the order, from 0.
        index: usize,
        /// How many.
        count: Count,
    },
    /// Every design needs a place.
    #[error(
        "{designs} designs do not fit {templates} templates of {places} places: allow {needed} templates"
    )]
    TooMany {
        /// Designs that are wanted.
        designs: usize,
        /// Templates allowed.
        templates: usize,
        /// Places on each.
        places: Count,
        /// Templates that would hold every design once.
        needed: Count,
    },
}

/// How far to go: work is counted, never timed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Reach {
    /// Steps of all tables for one number of pressings; about so many are done in some seconds.
    pub steps: u64,
}

impl Default for Reach {
    fn default() -> Self {
        Self { steps: 20_000_000_000 }
    }
}

/// One template.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Template {
    /// How often it is pressed.
    pub pressings: Count,
    /// Places of every design, in the order's order.
    pub copies: Vec<Count>,
}

/// Templates, and how few pressings they could have.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Answer {
    /// The templates, those pressed most often first.
    pub templates: Vec<Template>,
    /// No plan of so many templates has fewer pressings.
    pub bound: Count,
}

impl Answer {
    /// Pressings in all.
    #[must_use]
    pub fn pressings(&self) -> Count {
        pressings(&self.templates)
    }

    /// Whether no plan of so many templates has fewer pressings.
    #[must_use]
    pub fn proved(&self) -> bool {
        self.pressings() == self.bound
    }
}

fn pressings(templates: &[Template]) -> Count {
    templates.iter().map(|template| template.pressings).sum()
}

/// The fewest pressings found, and a bound. `stop` is asked now and then.
///
/// # Errors
/// Everything that is wrong with the order.
pub fn solve(order: &Order, reach: Reach, stop: Stop<'_>) -> Result<Answer, Vec<OrderError>> {
    let wrong = faults(order);
    if !wrong.is_empty() {
        return Err(wrong);
    }
    let best = by_size(order);
    // What fewer templates reach is a start for more.
    let fewer = (best.len()..order.templates).map(|templates| Order { templates, ..order.clone() });
    let best = fewer.fold(best, |best, fewer| better(&fewer, best, reach, stop).templates);
    Ok(better(order, best, reach, stop))
}

/// A plan at least as good, and a bound.
fn better(order: &Order, mut best: Vec<Template>, reach: Reach, stop: Stop<'_>) -> Answer {
    let total: Count = order.wanted.iter().sum();
    let mut bound = (total + order.places - 1) / order.places;
    // From below every sum that is refuted lifts the bound, and the first that is met needs no more.
    while bound < pressings(&best) {
        match with_sum(order, bound, reach, stop) {
            Outcome::Found(found) => best = found,
            Outcome::None => bound += 1,
            Outcome::Open => break,
        }
    }
    // One more pressing never hurts: what is left is halved until a sum is not met within reach.
    let mut low = bound;
    while low < pressings(&best) && !stop() {
        let middle = low + (pressings(&best) - low) / 2;
        match with_sum(order, middle, reach, stop) {
            Outcome::Found(found) => best = found,
            Outcome::None | Outcome::Open => low = middle + 1,
        }
    }
    Answer { templates: best, bound }
}

fn faults(order: &Order) -> Vec<OrderError> {
    let mut wrong = Vec::new();
    let (places, templates) = (order.places, order.templates);
    if !(1..=MOST_PLACES).contains(&places) {
        wrong.push(OrderError::Places(places));
    }
    if !(1..=MOST_TEMPLATES).contains(&templates) {
        wrong.push(OrderError::Templates(templates));
    }
    for (index, &count) in order.wanted.iter().enumerate() {
        if !(0..=MOST_WANTED).contains(&count) {
            wrong.push(OrderError::Wanted { index, count });
        }
    }
    let designs = order.wanted.iter().filter(|count| **count > 0).count();
    if wrong.is_empty() {
        let needed = Count::try_from(designs).unwrap_or(Count::MAX - places).div_euclid(places)
            + Count::from(Count::try_from(designs).unwrap_or(0) % places > 0);
        if usize::try_from(needed).unwrap_or(usize::MAX) > templates {
            wrong.push(OrderError::TooMany { designs, templates, places, needed });
        }
    }
    wrong
}

/// A plan at once: designs by falling numbers, a template full after the other, one place each.
fn by_size(order: &Order) -> Vec<Template> {
    let mut designs: Vec<usize> = (0..order.wanted.len()).filter(|&at| order.wanted[at] > 0).collect();
    designs.sort_by_key(|&at| std::cmp::Reverse(order.wanted[at]));
    let places = usize::try_from(order.places).unwrap_or(1).max(1);
    let full = designs.chunks(places).map(|chunk| {
        let mut copies = vec![0; order.wanted.len()];
        chunk.iter().for_each(|&at| copies[at] = 1);
        Template { pressings: chunk.iter().map(|&at| order.wanted[at]).max().unwrap_or(0), copies }
    });
    full.collect()
}

/// Whether so many pressings are enough.
enum Outcome {
    Found(Vec<Template>),
    /// They are not.
    None,
    /// Not known: stopped, or the work was done.
    Open,
}

/// Looks at every list of pressings with that sum, the most promising first.
fn with_sum(order: &Order, sum: Count, reach: Reach, stop: Stop<'_>) -> Outcome {
    let mut work = Work { left: reach.steps, stop };
    let mut prices = Prices::new(order);
    let mut open: Vec<(f64, Vec<Count>, Vec<i64>)> = Vec::new();
    let all = lists(sum, order.templates, sum, &mut Vec::new(), &mut |list| {
        if let Verdict::Open { load, weights } = prices.judge(list, &mut work) {
            open.push((load, list.to_vec(), weights));
        }
        work.goes_on()
    });
    open.sort_by(|one, other| one.0.total_cmp(&other.0).then_with(|| one.1.cmp(&other.1)));
    let mut refuted = all;
    for (_, list, weights) in open {
        if !work.goes_on() {
            return Outcome::Open;
        }
        match (Fill { order, list: &list, weights: &weights }).run(&mut work) {
            Outcome::Found(templates) if is_sound(order, &templates) => return Outcome::Found(templates),
            Outcome::None => {}
            _ => refuted = false,
        }
    }
    if refuted { Outcome::None } else { Outcome::Open }
}

/// Work that may still be done.
struct Work<'a> {
    left: u64,
    stop: Stop<'a>,
}

impl Work<'_> {
    fn done(&mut self, steps: usize) {
        self.left = self.left.saturating_sub(steps as u64);
    }

    fn goes_on(&self) -> bool {
        self.left > 0 && !(self.stop)()
    }
}

/// Gives every list of at most so many falling numbers with that sum to `found`, until that says no; whether it got all.
fn lists(
    sum: Count,
    parts: usize,
    most: Count,
    list: &mut Vec<Count>,
    found: &mut dyn FnMut(&[Count]) -> bool,
) -> bool {
    if sum == 0 {
        return found(list);
    }
    let places = Count::try_from(parts).unwrap_or(0);
    for times in (1..=most.min(sum)).rev() {
        // The rest must still fit into parts no larger than this one.
        if times * places < sum {
            break;
        }
        list.push(times);
        let go_on = lists(sum - times, parts - 1, times, list, found);
        let _ = list.pop();
        if !go_on {
            return false;
        }
    }
    true
}

/// Whether templates have the places for what is on them and yield what is wanted.
fn is_sound(order: &Order, templates: &[Template]) -> bool {
    let fits = |of: &Template| {
        of.copies.len() == order.wanted.len()
            && of.copies.iter().all(|&copies| copies >= 0)
            && of.copies.iter().sum::<Count>() <= order.places
    };
    let yields = |at: usize| -> Count {
        templates.iter().map(|template| template.pressings * template.copies[at]).sum()
    };
    templates.len() <= order.templates
        && templates.iter().all(fits)
        && order.wanted.iter().enumerate().all(|(at, &count)| yields(at) >= count)
}
