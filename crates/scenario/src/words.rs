//! Words in messages: the nearest known one, and several in a row.

/// The known word nearest to a mistyped one, if any is near enough to be meant.
#[must_use]
pub fn nearest<'w>(word: &str, known: impl IntoIterator<Item = &'w str>) -> Option<&'w str> {
    // A name longer than any known one is nobody's slip of the pen, and comparing it would take long.
    let length = word.chars().take(101).count();
    if length > 100 {
        return None;
    }
    let lower = word.to_lowercase();
    let near = known
        .into_iter()
        .map(|known| (strsim::damerau_levenshtein(&lower, &known.to_lowercase()), known))
        .min_by_key(|(distance, _)| *distance)?;
    let contained = near.1.len() >= 3 && lower.contains(&near.1.to_lowercase());
    (near.0 <= 1.max(length / 3) || contained).then_some(near.1)
}

/// Words in a row: `a`, `b` and `c`.
pub(crate) fn listed(words: &[&str]) -> String {
    match words {
        [] => String::from("none"),
        [one] => format!("`{one}`"),
        [most @ .., last] => {
            let most: Vec<String> = most.iter().map(|word| format!("`{word}`")).collect();
            format!("{} and `{last}`", most.join(", "))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slips_of_the_pen_are_understood() {
        let known = ["usable_width", "width_measured", "side"];
        assert_eq!(nearest("usable_widht", known), Some("usable_width"));
        assert_eq!(nearest("Side", known), Some("side"));
        assert_eq!(nearest("inches", ["inch", "metric"]), Some("inch"));
        assert_eq!(nearest("price", known), None);
        assert_eq!(nearest(&"x".repeat(10_000), known), None);
    }

    #[test]
    fn words_in_a_row() {
        assert_eq!(listed(&["a", "b", "c"]), "`a`, `b` and `c`");
        assert_eq!(listed(&["a"]), "`a`");
    }
}
