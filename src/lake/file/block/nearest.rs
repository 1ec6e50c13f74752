//! The known word nearest to one that was mistyped.

/// The candidate nearest to `word` by edit distance, if it is near enough to be a slip of the finger:
/// at most a third of the longer word's characters differ, or one begins with the other.
pub(in crate::lake::file) fn nearest<'c>(
    word: &str,
    candidates: impl IntoIterator<Item = &'c str>,
) -> Option<&'c str> {
    // Longer than any word of a lake file: no slip of the finger, and not worth the work.
    if word.is_empty() || word.len() > 80 {
        return None;
    }
    let word = word.to_lowercase().replace('-', "_");
    let scored = candidates.into_iter().filter_map(|candidate| {
        let other = candidate.to_lowercase().replace('-', "_");
        let distance = edit_distance(&word, &other);
        let longer = word.chars().count().max(other.chars().count());
        let begins =
            word.len() >= 4 && other.len() >= 4 && (other.starts_with(&word) || word.starts_with(&other));
        (3 * distance <= longer || begins).then_some((distance, candidate))
    });
    scored
        .min_by_key(|&(distance, _)| distance)
        .map(|(_, candidate)| candidate)
}

/// Fewest insertions, deletions and replacements of one character that turn `a` into `b` (Levenshtein).
fn edit_distance(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, ca) in a.chars().enumerate() {
        let mut diagonal = row[0];
        row[0] = i + 1;
        for (j, cb) in b.iter().enumerate() {
            let replaced = diagonal + usize::from(ca != *cb);
            diagonal = row[j + 1];
            row[j + 1] = replaced.min(row[j] + 1).min(diagonal + 1);
        }
    }
    row[b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slip_of_the_finger_finds_its_key_and_a_foreign_word_none() {
        let keys = ["toe_elevation_ft", "zone", "lanes", "position"];
        assert_eq!(nearest("toe_elevaton_ft", keys), Some("toe_elevation_ft"));
        assert_eq!(nearest("toe_elevation", keys), Some("toe_elevation_ft"));
        assert_eq!(nearest("Zones", keys), Some("zone"));
        assert_eq!(nearest("parking", keys), None);
    }

    #[test]
    fn the_distance_is_that_of_the_textbook_pair() {
        assert_eq!(edit_distance("kitten", "sitting"), 3); // the usual textbook pair, from memory
        assert_eq!(edit_distance("", "abc"), 3);
    }
}
