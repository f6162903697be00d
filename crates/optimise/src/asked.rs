//! Answers given before: the plans of one comparison, and the changes tried on one plan, ask many questions again word for
//! word. What is answered depends on the question alone, so whether an answer is remembered changes nothing but the time.

use std::hash::{DefaultHasher, Hash, Hasher};
use std::sync::{Mutex, PoisonError};

use rustc_hash::{FxHashMap, FxHasher};

/// Answers remembered at most; then all are forgotten.
const MOST: usize = 40_000;

/// A question in 128 bits, by two hash functions that have nothing in common.
type Mark = (u64, u64);

/// Answers by question.
pub(crate) struct Asked<T>(Mutex<FxHashMap<Mark, T>>);

impl<T: Clone> Asked<T> {
    /// Nothing yet.
    pub(crate) const fn new() -> Self {
        Self(Mutex::new(FxHashMap::with_hasher(rustc_hash::FxBuildHasher)))
    }

    /// The answer, worked out if it is not remembered.
    pub(crate) fn answer(&self, question: &impl Hash, work_out: impl FnOnce() -> T) -> T {
        let (mut one, mut other) = (DefaultHasher::new(), FxHasher::default());
        question.hash(&mut one);
        question.hash(&mut other);
        let mark = (one.finish(), other.finish());
        if let Some(known) = self.known().get(&mark) {
            return known.clone();
        }
        let answer = work_out();
        let mut known = self.known();
        if known.len() >= MOST {
            known.clear();
        }
        let _ = known.insert(mark, answer.clone());
        answer
    }

    fn known(&self) -> std::sync::MutexGuard<'_, FxHashMap<Mark, T>> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn asked_again_is_not_worked_out_again() {
        let asked = Asked::new();
        assert_eq!(asked.answer(&(1, "a"), || 5), 5);
        assert_eq!(asked.answer(&(1, "a"), || 6), 5);
        assert_eq!(asked.answer(&(2, "a"), || 6), 6);
    }
}
