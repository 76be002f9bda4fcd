//! How wide the columns of a table are, from what stands in them.

/// Characters that fit into a line of the printed page, about.
const LINE: f64 = 112.0;
/// A word longer than this is broken rather than given room.
const LONGEST_WORD: usize = 22;
/// Added to each column for its padding, in characters.
const PADDING: f64 = 2.5;

/// The share of each column in hundredths, for columns with these texts (the heads among them). Each has
/// room for its longest word, as far as all of them have; what is left goes where lines are longest.
pub(super) fn widths<'a>(count: usize, rows: impl Iterator<Item = Vec<&'a str>>) -> Vec<f64> {
    let mut word = vec![0.0_f64; count];
    let mut line = vec![0.0_f64; count];
    for row in rows {
        for (column, text) in row.into_iter().enumerate().take(count) {
            let longest = text.split_whitespace().map(|w| w.chars().count()).max();
            let longest = longest.unwrap_or(0).min(LONGEST_WORD);
            word[column] = word[column].max(longest as f64 + PADDING);
            let lines = text.lines().map(|l| l.chars().count()).max().unwrap_or(0);
            line[column] = line[column].max(lines as f64 + PADDING);
        }
    }
    let (least, wanted): (f64, f64) = (word.iter().sum(), line.iter().sum());
    let left = (LINE - least).max(0.0).min(wanted - least);
    let more = (wanted - least).max(1.0);
    let width = |column: usize| {
        let beyond = (line[column] - word[column]).max(0.0);
        word[column] + left * beyond / more
    };
    let each: Vec<f64> = (0..count).map(width).collect();
    let all: f64 = each.iter().sum::<f64>().max(1.0);
    each.iter().map(|width| 100.0 * width / all).collect()
}

#[cfg(test)]
mod tests {
    use super::widths;

    #[test]
    fn no_short_word_is_broken_and_long_texts_take_the_rest() {
        let long =
            "a reason of many words that needs several lines however wide its column may be made";
        let rows = [
            vec!["quantity", "shot", "why"],
            vec!["oscillator frequency", "1", long],
        ];
        let shares = widths(3, rows.into_iter());
        assert!((shares.iter().sum::<f64>() - 100.0).abs() < 1e-9);
        // at 112 characters a line "oscillator" has its room, and "shot" too
        assert!(shares[0] / 100.0 * 112.0 >= 10.0, "{shares:?}");
        assert!(shares[1] / 100.0 * 112.0 >= 4.0, "{shares:?}");
        assert!(shares[2] > 55.0, "{shares:?}");
    }

    #[test]
    fn empty_columns_and_words_without_end_leave_room_for_the_others() {
        let endless = "x".repeat(5000);
        let shares = widths(3, [vec!["", "a b", endless.as_str()]].into_iter());
        assert!(shares.iter().all(|share| share.is_finite() && *share > 0.0));
        assert!(shares[2] < 96.0, "{shares:?}");
    }
}
