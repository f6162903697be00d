//! Answers given before: the plans of one comparison, and the changes tried on one plan, ask many questions again word for
//! word. What is answered depends on the question alone, so whether an answer is remembered changes nothing but the time.

use std::hash::{DefaultHasher, Hash, Hasher};
use std::sync::{Mutex, MutexGuard, PoisonError};

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
        self.answer_unless(|| false, question, work_out)
    }

    /// The same where a wish to stop may come in between: then nothing is remembered.
    pub(crate) fn answer_unless(
        &self,
        stopped: impl Fn() -> bool,
        question: &impl Hash,
        work_out: impl FnOnce() -> T,
    ) -> T {
        if stopped() {
            return work_out();
        }
        let mark = mark(question);
        if let Some(known) = self.known().get(&mark).cloned() {
            return known;
        }
        let answer = work_out();
        if !stopped() {
            self.remember(mark, &answer);
        }
        answer
    }

    fn remember(&self, mark: Mark, answer: &T) {
        let mut known = self.known();
        if known.len() >= MOST {
            known.clear();
        }
        let _ = known.insert(mark, answer.clone());
    }

    fn known(&self) -> MutexGuard<'_, FxHashMap<Mark, T>> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

fn mark(question: &impl Hash) -> Mark {
    let (mut one, mut other) = (DefaultHasher::new(), FxHasher::default());
    question.hash(&mut one);
    question.hash(&mut other);
    (one.finish(), other.finish())
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
        assert_eq!(asked.answer_unless(|| true, &(3, "a"), || 7), 7);
        assert_eq!(asked.answer(&(3, "a"), || 8), 8);
    }
}
