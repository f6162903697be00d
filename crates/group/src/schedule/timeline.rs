//! How much of something is in use over time.

/// A step function: from each time on, so much is in use.
#[derive(Clone, Debug)]
pub(crate) struct Timeline {
    steps: Vec<(u64, u32)>,
}

impl Default for Timeline {
    fn default() -> Self {
        Self { steps: vec![(0, 0)] }
    }
}

impl Timeline {
    /// The step that holds at a time.
    fn at(&self, time: u64) -> usize {
        self.steps.partition_point(|step| step.0 <= time).saturating_sub(1)
    }

    /// The earliest time from `from` on at which `more` are free of `all` for so long.
    pub(crate) fn free(&self, all: u32, more: u32, from: u64, long: u64) -> u64 {
        let mut start = from;
        let mut step = self.at(start);
        while let Some(&(begins, used)) = self.steps.get(step) {
            if begins >= start + long.max(1) {
                break;
            }
            if used + more > all {
                match self.steps.get(step + 1) {
                    Some(&(ends, _)) => start = ends,
                    // Nothing is ever given back: nobody asks for more than there is.
                    None => return u64::MAX / 4,
                }
            }
            step += 1;
        }
        start
    }

    /// Uses `more` from one time to another.
    pub(crate) fn take(&mut self, more: u32, from: u64, to: u64) {
        if from >= to {
            return;
        }
        let first = self.split(from);
        let last = self.split(to);
        for step in &mut self.steps[first..last] {
            step.1 += more;
        }
        // Steps that say nothing new would only have to be passed each time.
        self.join(last);
        self.join(first);
    }

    /// Gives back `less` of what is used from one time to another; so much has to be used all the while.
    pub(crate) fn give_back(&mut self, less: u32, from: u64, to: u64) {
        if from >= to {
            return;
        }
        let first = self.split(from);
        let last = self.split(to);
        for step in &mut self.steps[first..last] {
            step.1 = step.1.saturating_sub(less);
        }
        self.join(last);
        self.join(first);
    }

    fn join(&mut self, step: usize) {
        if step > 0 && self.steps[step - 1].1 == self.steps[step].1 {
            self.steps.remove(step);
        }
    }

    fn split(&mut self, time: u64) -> usize {
        let at = self.at(time);
        let (begins, used) = self.steps[at];
        if begins == time {
            return at;
        }
        self.steps.insert(at + 1, (time, used));
        at + 1
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn gaps_are_found_and_filled() {
        let mut line = Timeline::default();
        line.take(1, 10, 20);
        line.take(1, 30, 40);
        assert_eq!(line.free(1, 1, 0, 10), 0);
        assert_eq!(line.free(1, 1, 5, 10), 20);
        assert_eq!(line.free(1, 1, 5, 11), 40);
        assert_eq!(line.free(2, 1, 5, 11), 5);
        line.take(1, 20, 30);
        assert_eq!(line.free(1, 1, 5, 6), 40);
        line.take(1, 15, 35);
        assert_eq!(line.free(2, 1, 0, 16), 35);
        assert_eq!(line.free(3, 2, 0, 16), 35);
    }
}
