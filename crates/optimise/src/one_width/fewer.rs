//! Fewer different patterns in the same strips, with the same pieces.
//!
//! A few patterns are taken apart and made anew as one less (`anew`), as Diegel, Chetty, van Schalkwyck and Naidoo (1993)
//! and Foerster and Waescher, Int. J. Prod. Res. 38 (2000) 1657-1676, combine two or three at a time. Where that fails,
//! they are made anew as just as many others, which walks to where it may not fail. Publications from memory.

use super::anew::{Anew, Contents};
use super::{Count, Pattern, Patterns};
use crate::listen::Stop;
use crate::search::Random;

pub use super::anew::Rules;

/// How far to go: work is counted, never timed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Walk {
    /// Steps of the search.
    pub steps: u64,
    /// Seed of its choices.
    pub seed: u64,
}

/// A plan of as many strips with the same pieces, and of no more different patterns.
#[must_use]
pub fn fewer(rules: &Rules, sizes: &[i64], plan: &[(Vec<(usize, Count)>, Count)], walk: Walk, stop: Stop<'_>) -> Patterns {
    let mut anew = Anew::new(rules, sizes);
    let mut random = Random::new(walk.seed);
    let mut best = merged(plan.to_vec());
    let mut at = best.clone();
    let heat: f64 = std::env::var("HEAT").ok().and_then(|v| v.parse().ok()).unwrap_or(0.3);
    let mut wide: f64 = std::env::var("WIDE").ok().and_then(|v| v.parse().ok()).unwrap_or(8.0);
    let up: f64 = std::env::var("UP").ok().and_then(|v| v.parse().ok()).unwrap_or(0.3);
    let bigshare: usize = std::env::var("BIG").ok().and_then(|v| v.parse().ok()).unwrap_or(20);
    let small: usize = std::env::var("SMALL").ok().and_then(|v| v.parse().ok()).unwrap_or(250);
    let mut dive_no = 0;
    let mut dives = [[0_usize; 4]; 130];
    let mut stats = [[0_u64; 3]; 7];
    while anew.work < walk.steps && best.len() > 1 && !stop() {
        if random.below(1000) >= small || at.len() < 4 {
            let big = dive_no < 3 || random.below(1000) < bigshare;
            let r = if dive_no < 3 { at.len() } else if big { (wide as usize + random.below(at.len())).min(at.len()) } else { (wide as usize + random.below(5)).min(at.len()) };
            dive_no += 1;
            let apart = chosen(&at, r, &mut random);
            let contents = Contents::of(&at, &apart);
            let known: Patterns = apart.iter().map(|&i| at[i].clone()).collect();
            dives[r.min(129)][0] += 1;
            let t = std::time::Instant::now();
            if let Some(found) = super::charge::dive(&mut anew, &contents, &known, r, &mut random) {
                dives[r.min(129)][1] += 1;
                if !big { wide = (wide + up).min(at.len() as f64); }
                if found.len() < r { dives[r.min(129)][2] += 1; }
                let mut keep: Patterns = Vec::with_capacity(at.len());
                for (i, p) in at.iter().enumerate() { if !apart.contains(&i) { keep.push(p.clone()); } }
                let gain = score(&found) - score(&known);
                let luck = (random.below(1_000_000) as f64 + 1.0) / 1e6;
                if found.len() < r || gain >= heat * luck.ln() {
                keep.extend(found);
                at = merged(keep);
                if at.len() < best.len() { best = at.clone(); }
                }
            }
            else if !big { wide = (wide - 0.15).max(3.0); }
            dives[r.min(129)][3] += t.elapsed().as_micros() as usize;
            continue;
        }
        let r = match random.below(10) { 0..3 => 2, 3..7 => 3, 7..9 => 4, _ => 5 };
        let apart = chosen(&at, r.min(at.len()), &mut random);
        let r = apart.len();
        anew.work += 1;
        let contents = Contents::of(&at, &apart);
        stats[r][0] += 1;
        let known: Patterns = {
            let mut known: Patterns = apart.iter().map(|&i| at[i].clone()).collect();
            known.sort_unstable();
            known
        };
        let found = anew.patterns(&contents, r - 1, 400, &[], &mut random);
        let found = match found {
            Some(found) => { stats[r][1] += 1; Some(found) },
            None if r <= 3 => {
                let f = anew.patterns(&contents, r, 200, &known, &mut random);
                f.filter(|f| {
                    let gain = score(f) - score(&known);
                    let luck = (random.below(1_000_000) as f64 + 1.0) / 1e6;
                    gain >= heat * luck.ln()
                }).inspect(|_| stats[r][2] += 1)
            }
            None => None,
        };
        if let Some(found) = found {
            let mut keep: Patterns = Vec::with_capacity(at.len());
            for (i, p) in at.iter().enumerate() { if !apart.contains(&i) { keep.push(p.clone()); } }
            keep.extend(found);
            at = merged(keep);
            if at.len() < best.len() { best = at.clone(); }
        }
    }
    if std::env::var("STATS").is_ok() { eprintln!("{stats:?} {}", anew.work); for (r, d) in dives.iter().enumerate() { if d[0] > 0 { eprintln!("  {r} {d:?}"); } } }
    best
}

fn score(p: &[(Pattern, Count)]) -> f64 {
    let mode: i32 = std::env::var("MODE").ok().and_then(|v| v.parse().ok()).unwrap_or(9);
    match mode {
        0 => -p.iter().map(|p| (p.1 as f64).ln()).sum::<f64>(),
        1 => p.iter().map(|p| (p.1 as f64).powi(2)).sum::<f64>() / 10.0,
        2 => -(p.iter().map(|p| p.0.len() as f64).sum::<f64>()),
        _ => 0.0,
    }
}

fn merged(mut plan: Patterns) -> Patterns {
    plan.iter_mut().for_each(|of| of.0.sort_unstable());
    plan.sort_unstable();
    plan.dedup_by(|later, earlier| {
        let same = later.0 == earlier.0;
        if same { earlier.1 += later.1; }
        same
    });
    plan
}

fn chosen(plan: &Patterns, r: usize, random: &mut Random) -> Vec<usize> {
    let mut chosen = vec![random.below(plan.len())];
    while chosen.len() < r {
        // a pattern that shares a size with one chosen, else any
        let next = if random.below(4) > 0 {
            let from = &plan[chosen[random.below(chosen.len())]].0;
            let item = from[random.below(from.len())].0;
            let with: Vec<usize> = (0..plan.len()).filter(|i| !chosen.contains(i) && plan[*i].0.iter().any(|p| p.0 == item)).collect();
            if with.is_empty() { random.below(plan.len()) } else { with[random.below(with.len())] }
        } else { random.below(plan.len()) };
        if !chosen.contains(&next) { chosen.push(next); }
    }
    chosen
}
