//! Rows of linear programs with like terms merged: the simplex crates panic on a repeated variable.

/// A row under construction.
#[derive(Clone, Debug)]
pub(crate) struct Terms<V, C> {
    terms: Vec<(V, C)>,
}

impl<V, C> Default for Terms<V, C> {
    fn default() -> Self {
        Self { terms: Vec::new() }
    }
}

impl<V: PartialEq + Copy, C: std::ops::AddAssign + Copy> Terms<V, C> {
    /// Adds `coefficient * variable`.
    pub(crate) fn add(&mut self, variable: V, coefficient: C) {
        match self.terms.iter_mut().find(|(known, _)| *known == variable) {
            Some((_, sum)) => *sum += coefficient,
            None => self.terms.push((variable, coefficient)),
        }
    }

    /// The merged row.
    pub(crate) fn into_terms(self) -> Vec<(V, C)> {
        self.terms
    }
}
