//! What is still to be paid, at least, for what is left to cover: the corner relaxation of a covering program (Gomory,
//! Linear Algebra and its Applications 2 (1969) 451-558). The columns of a best basis of the linear program may be used
//! any whole number of times, even below zero. Then only the class of what is left matters, modulo what the basis adds up
//! to; there are as many classes as the determinant of the basis, and a shortest path over them finds the least for each
//! (Shapiro, Operations Research 16 (1968) 103-121). Everything is whole numbers: costs are multiplied by that
//! determinant.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// Most classes.
const MOST_CLASSES: i128 = 20_000;
/// Most classes times columns.
const MOST_ARCS: usize = 4_000_000;
/// Most exchanges of the simplex method, and those after which it goes by Bland's rule, which cannot go round in circles.
const MOST_EXCHANGES: usize = 400;
const EXCHANGES_BY_COST: usize = 100;
/// Most of a sum of costs times the determinant.
const MOST_COST: i128 = 1 << 60;

/// A column: what it gives of every item, and its cost, which is at least 0.
pub(crate) type Column<'a> = (&'a [usize], i64);

/// Least costs of covering what is left.
#[derive(Clone, Debug)]
pub(crate) struct Corner {
    /// Costs are multiplied by this.
    scale: i64,
    /// Worth of every item, so multiplied.
    worth: Vec<i64>,
    /// Items wanted.
    items: Vec<usize>,
    /// The basis in lower triangular form, by rows of items wanted.
    triangle: Vec<Vec<i64>>,
    /// What is above the worth at least, by class.
    least: Vec<i64>,
}

impl Corner {
    /// The worths alone, which nothing may be worth more than at; no classes.
    pub(crate) fn plain(worth: Vec<i64>) -> Self {
        Self { scale: 1, worth, items: Vec::new(), triangle: Vec::new(), least: vec![0] }
    }

    /// Of covering at least so much of every item with these columns, as far as it costs less than `most`. `None` where
    /// some item is in no column, or where there are too many classes.
    pub(crate) fn of(columns: &[Column<'_>], wanted: &[usize], most: i64) -> Option<Self> {
        let items: Vec<usize> = (0..wanted.len()).filter(|&item| wanted[item] > 0).collect();
        let basis = Basis::best(columns, wanted, &items)?;
        let scale = basis.determinant;
        if scale > MOST_CLASSES || usize::try_from(scale).ok()?.checked_mul(columns.len())? > MOST_ARCS {
            return None;
        }
        let triangle = triangle(basis.matrix)?;
        let mut worth = vec![0; wanted.len()];
        for (&item, &price) in items.iter().zip(&basis.prices) {
            worth[item] = i64::try_from(price).ok()?;
        }
        let dearest = columns.iter().map(|column| i128::from(column.1)).max().unwrap_or(0);
        let strips = wanted.iter().map(|&n| n as i128).sum::<i128>() + 1;
        if dearest.checked_mul(strips)?.checked_mul(scale)? > MOST_COST {
            return None;
        }
        let classes = usize::try_from(scale).ok()?;
        let mut corner = Self {
            scale: i64::try_from(scale).ok()?,
            worth,
            items,
            triangle,
            least: vec![i64::MAX; classes],
        };
        let all: i64 = corner.worth_of(wanted);
        corner.settle(columns, most.saturating_mul(corner.scale).saturating_sub(all))?;
        Some(corner)
    }

    /// What costs are multiplied by.
    pub(crate) fn scale(&self) -> i64 {
        self.scale
    }

    /// What covering so much costs at least, multiplied; beyond all numbers where that is beyond the most asked for.
    pub(crate) fn to_go(&self, left: &[usize]) -> i64 {
        let class = self.class(self.items.iter().map(|&item| whole(left[item])));
        self.worth_of(left).saturating_add(self.least[class])
    }

    fn worth_of(&self, left: &[usize]) -> i64 {
        left.iter().zip(&self.worth).map(|(&n, &worth)| whole(n) * worth).sum()
    }

    /// The class of an amount of the items wanted.
    fn class(&self, amount: impl Iterator<Item = i64>) -> usize {
        if let [first, second] = &self.triangle[..] {
            // Most fabrics have two items.
            let mut amount = amount;
            let (a, b) = (amount.next().unwrap_or(0), amount.next().unwrap_or(0));
            let b = b - a.div_euclid(first[0]) * second[0];
            return usize::try_from(a.rem_euclid(first[0]) * second[1] + b.rem_euclid(second[1]))
                .unwrap_or(0);
        }
        let mut amount: Vec<i64> = amount.collect();
        let mut class = 0;
        for at in 0..self.triangle.len() {
            let size = self.triangle[at][at];
            let times = amount[at].div_euclid(size);
            for (amount, row) in amount.iter_mut().zip(&self.triangle).skip(at) {
                *amount -= times * row[at];
            }
            class = class * size + amount[at];
        }
        usize::try_from(class).unwrap_or(0)
    }

    /// The shortest paths from nothing left to every class: a column covers what it gives at what it costs above its worth,
    /// and of every item one too much may be covered at its worth. Paths of `most` or more are left out.
    fn settle(&mut self, columns: &[Column<'_>], most: i64) -> Option<()> {
        let mut arcs: Vec<Option<(i64, Vec<i64>)>> = vec![None; self.least.len()];
        let mut arc = |gives: Vec<i64>, above: i64| {
            let class = self.class(gives.iter().copied());
            if class > 0 && above < most && arcs[class].as_ref().is_none_or(|known| above < known.0) {
                arcs[class] = Some((above, gives));
            }
        };
        for &(gives, cost) in columns {
            let gives: Vec<i64> =
                self.items.iter().map(|&item| i64::try_from(gives[item]).ok()).collect::<Option<_>>()?;
            let worth: i64 = gives.iter().zip(&self.items).map(|(n, &item)| n * self.worth[item]).sum();
            arc(gives, cost * self.scale - worth);
        }
        for (at, &item) in self.items.iter().enumerate() {
            let mut less = vec![0; self.items.len()];
            less[at] = -1;
            arc(less, self.worth[item]);
        }
        let mut arcs: Vec<(i64, Vec<i64>)> = arcs.into_iter().flatten().collect();
        arcs.sort_unstable();
        let mut near = BinaryHeap::from([Reverse((0, 0))]);
        self.least[0] = 0;
        while let Some(Reverse((far, class))) = near.pop() {
            if far > self.least[class] {
                continue;
            }
            let amount = self.amount(class);
            for (above, gives) in &arcs {
                let far = far + above;
                if far >= most {
                    break;
                }
                let next = self.class(amount.iter().zip(gives).map(|(amount, gives)| amount + gives));
                if far < self.least[next] {
                    self.least[next] = far;
                    near.push(Reverse((far, next)));
                }
            }
        }
        Some(())
    }

    /// An amount of that class.
    fn amount(&self, class: usize) -> Vec<i64> {
        let mut amount = vec![0; self.triangle.len()];
        let mut class = i64::try_from(class).unwrap_or(0);
        for (at, amount) in amount.iter_mut().enumerate().rev() {
            *amount = class.rem_euclid(self.triangle[at][at]);
            class = class.div_euclid(self.triangle[at][at]);
        }
        amount
    }
}

fn whole(n: usize) -> i64 {
    i64::try_from(n).unwrap_or(i64::MAX)
}

/// A best basis of the linear program, exact.
struct Basis {
    /// Its columns, by rows of items.
    matrix: Vec<Vec<i128>>,
    determinant: i128,
    /// Prices of the items times the determinant.
    prices: Vec<i128>,
}

/// What is in a basis: a column, one too much of an item, or one of an item bought at a price beyond all others.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Member {
    Column(usize),
    Over(usize),
    Bought(usize),
}

impl Basis {
    /// By the simplex method in whole numbers, from everything bought.
    fn best(columns: &[Column<'_>], wanted: &[usize], items: &[usize]) -> Option<Self> {
        let dearest = columns.iter().map(|column| i128::from(column.1)).max()? + 1;
        let cost = |member: Member| match member {
            Member::Column(at) => i128::from(columns[at].1),
            Member::Over(_) => 0,
            Member::Bought(_) => dearest,
        };
        let unit = |row: usize, n: i128| (0..items.len()).map(|at| if at == row { n } else { 0 }).collect();
        let vector = |member: Member| -> Vec<i128> {
            match member {
                Member::Column(at) => items.iter().map(|&item| columns[at].0[item] as i128).collect(),
                Member::Over(row) => unit(row, -1),
                Member::Bought(row) => unit(row, 1),
            }
        };
        let demand: Vec<i128> = items.iter().map(|&item| wanted[item] as i128).collect();
        let others: Vec<(Member, Vec<i128>)> = (0..columns.len())
            .map(Member::Column)
            .chain((0..items.len()).map(Member::Over))
            .map(|member| (member, vector(member)))
            .collect();
        let mut members: Vec<Member> = (0..items.len()).map(Member::Bought).collect();
        for exchange in 0..MOST_EXCHANGES {
            let vectors: Vec<Vec<i128>> = members.iter().map(|&member| vector(member)).collect();
            let matrix: Vec<Vec<i128>> =
                (0..items.len()).map(|row| vectors.iter().map(|vector| vector[row]).collect()).collect();
            let (determinant, adjugate) = inverse(&matrix)?;
            let prices: Vec<i128> = (0..items.len())
                .map(|row| members.iter().zip(&adjugate).map(|(&member, of)| cost(member) * of[row]).sum())
                .collect();
            let saves =
                |(member, vector): &(Member, Vec<i128>)| dot(&prices, vector) - determinant * cost(*member);
            let entering = match exchange < EXCHANGES_BY_COST {
                true => others.iter().max_by_key(|other| saves(other)).filter(|other| saves(other) > 0),
                false => others.iter().find(|other| saves(other) > 0),
            };
            let Some((entering, vector)) = entering else {
                let bought = members.iter().any(|member| matches!(member, Member::Bought(_)));
                return (!bought).then_some(Self { matrix, determinant, prices });
            };
            let used = adjugate.iter().map(|of| dot(of, &demand));
            let taken = adjugate.iter().map(|of| dot(of, vector));
            let ratios = used.zip(taken).enumerate().filter(|(_, (_, taken))| *taken > 0);
            let (leaving, _) = ratios.min_by(|(a, one), (b, other)| {
                (one.0 * other.1).cmp(&(other.0 * one.1)).then(members[*a].cmp(&members[*b]))
            })?;
            members[leaving] = *entering;
        }
        None
    }
}

fn dot(one: &[i128], other: &[i128]) -> i128 {
    one.iter().zip(other).map(|(a, b)| a * b).sum()
}

/// Determinant, above 0, and the inverse times it; `None` where there is no inverse. By elimination without fractions
/// (Bareiss, Mathematics of Computation 22 (1968) 565-578).
fn inverse(matrix: &[Vec<i128>]) -> Option<(i128, Vec<Vec<i128>>)> {
    let size = matrix.len();
    let beside = |row: usize| (0..size).map(move |at| i128::from(at == row));
    let mut rows: Vec<Vec<i128>> =
        matrix.iter().enumerate().map(|(at, row)| row.iter().copied().chain(beside(at)).collect()).collect();
    let mut before = 1;
    for at in 0..size {
        let pivot = (at..size).find(|&row| rows[row][at] != 0)?;
        rows.swap(at, pivot);
        let pivot = rows[at].clone();
        for (row, values) in rows.iter_mut().enumerate().filter(|(row, _)| *row != at) {
            debug_assert_ne!(row, at);
            let factor = values[at];
            for (value, &of_pivot) in values.iter_mut().zip(&pivot) {
                let next = value.checked_mul(pivot[at])?.checked_sub(factor.checked_mul(of_pivot)?)?;
                *value = next / before;
            }
        }
        before = pivot[at];
    }
    let sign = before.signum();
    let inverse = rows.iter().map(|row| row[size..].iter().map(|&value| value * sign).collect());
    Some((before.abs(), inverse.collect()))
}

/// The same lattice of sums of columns, lower triangular with a diagonal above 0 (Hermite's form but for what is left of the
/// diagonal).
fn triangle(mut rows: Vec<Vec<i128>>) -> Option<Vec<Vec<i64>>> {
    let size = rows.len();
    for at in 0..size {
        // Euclid's algorithm on the columns from here on.
        while let Some(other) = (at + 1..size).find(|&column| rows[at][column] != 0) {
            let times = rows[at][at].div_euclid(rows[at][other].abs()) * rows[at][other].signum();
            for row in &mut rows {
                row[at] -= times * row[other];
                row.swap(at, other);
            }
        }
        if rows[at][at] < 0 {
            rows.iter_mut().for_each(|row| row[at] = -row[at]);
        }
    }
    rows.iter().map(|row| row.iter().map(|&value| i64::try_from(value).ok()).collect()).collect()
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use super::*;
    use crate::search::Random;

    /// By hand: five of an item, by twos for 2 or by threes for 4. The best basis takes twos, each item worth 1; five is odd
    /// like three, which is 1 above its worth, or like one too much at 1. Six is even.
    #[test]
    fn odd_demands_cost_more_by_twos() {
        let columns: [Column<'_>; 2] = [(&[2], 2), (&[3], 4)];
        let corner = Corner::of(&columns, &[5], i64::MAX).expect("a corner");
        assert_eq!((corner.scale(), corner.to_go(&[5]), corner.to_go(&[6])), (2, 12, 12));
    }

    /// Against a full table: never more than the least, and often the least itself.
    #[test]
    fn never_more_than_the_least() {
        let mut random = Random::new(5);
        let mut exact = 0;
        for _ in 0..200 {
            let items = 1 + random.below(3);
            let columns: Vec<(Vec<usize>, i64)> = (0..items + random.below(4))
                .map(|at| {
                    let gives = (0..items).map(|item| random.below(4) + usize::from(item == at)).collect();
                    (gives, 1 + i64::try_from(random.below(30)).expect("small"))
                })
                .collect();
            let columns: Vec<Column<'_>> = columns.iter().map(|(gives, cost)| (&gives[..], *cost)).collect();
            let wanted: Vec<usize> = (0..items).map(|_| random.below(9)).collect();
            if wanted.iter().all(|&n| n == 0) {
                continue;
            }
            let corner = Corner::of(&columns, &wanted, i64::MAX).expect("a corner");
            let least = by_table(&columns, &wanted, &mut BTreeMap::new());
            let said = corner.to_go(&wanted);
            assert!(said <= least * corner.scale());
            exact += usize::from(said == least * corner.scale());
            let near = Corner::of(&columns, &wanted, least + 1).expect("a corner");
            assert_eq!(near.to_go(&wanted), said);
        }
        assert!(exact > 100, "{exact}");
    }

    fn by_table(columns: &[Column<'_>], wanted: &[usize], known: &mut BTreeMap<Vec<usize>, i64>) -> i64 {
        if wanted.iter().all(|&n| n == 0) {
            return 0;
        }
        if let Some(&known) = known.get(wanted) {
            return known;
        }
        let after = |gives: &[usize]| -> Vec<usize> {
            wanted.iter().zip(gives).map(|(wanted, gives)| wanted.saturating_sub(*gives)).collect()
        };
        let useful = columns.iter().map(|(gives, cost)| (after(gives), cost));
        let useful = useful.filter(|(after, _)| after != wanted);
        let least = useful.map(|(after, cost)| cost + by_table(columns, &after, known)).min();
        let least = least.expect("a column");
        let _ = known.insert(wanted.to_vec(), least);
        least
    }
}
