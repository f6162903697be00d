//! A set of positions of one board.

/// Words of 64 positions; a board has at most 400.
const WORDS: usize = 7;

/// A set of positions.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Members([u64; WORDS]);

impl Members {
    pub(super) fn insert(&mut self, member: usize) {
        self.0[member / 64] |= 1 << (member % 64);
    }

    pub(super) fn is_empty(&self) -> bool {
        self.0.iter().all(|word| *word == 0)
    }

    pub(super) fn without(&self, other: &Self) -> Self {
        let mut rest = *self;
        rest.0.iter_mut().zip(other.0).for_each(|(word, other)| *word &= !other);
        rest
    }

    pub(super) fn and(&self, other: &Self) -> Self {
        let mut both = *self;
        both.0.iter_mut().zip(other.0).for_each(|(word, other)| *word &= other);
        both
    }

    pub(super) fn iter(&self) -> impl Iterator<Item = usize> + '_ {
        self.0.iter().enumerate().flat_map(|(at, word)| {
            let mut rest = *word;
            std::iter::from_fn(move || {
                let bit = (rest != 0).then(|| rest.trailing_zeros() as usize)?;
                rest &= rest - 1;
                Some(at * 64 + bit)
            })
        })
    }
}

impl FromIterator<usize> for Members {
    fn from_iter<I: IntoIterator<Item = usize>>(members: I) -> Self {
        let mut set = Self::default();
        members.into_iter().for_each(|member| set.insert(member));
        set
    }
}
