//! What files of one layout have in common: the form of their first lines, numbers left out.

use super::text::encoding;
use crate::data::Source;

/// Bytes from the start of a file that its signature is made of.
const LOOKED_AT: usize = 16 * 1024;
/// Lines that a signature takes at most.
const MOST_LINES: usize = 60;
/// Characters that it takes of a line.
const MOST_CHARACTERS: usize = 200;

/// The signature of a file: its lines up to the first row of plain numbers, each run of digits as one
/// `0` and signs left out. Files of one layout have the same signature whatever their samples are.
///
/// Empty for a file without text, or one that can't be read.
pub fn signature(source: &dyn Source) -> String {
    let mut bytes = vec![0; LOOKED_AT];
    let filled = source.read_full_at(0, &mut bytes).unwrap_or(0);
    bytes.truncate(filled);
    let text = match encoding::find(&bytes) {
        encoding::Found::Text { encoding, mark, .. } => encoding
            .decode(bytes.get(mark..).unwrap_or(&[]))
            .into_owned(),
        _ => return String::new(),
    };
    let mut forms = Vec::new();
    for line in text.split(['\n', '\r']).map(str::trim) {
        if line.is_empty() {
            continue;
        }
        if is_row(line) {
            forms.push(separators(line));
            break;
        }
        forms.push(form(line));
        if forms.len() == MOST_LINES {
            break;
        }
    }
    forms.join("\n")
}

/// A row of samples: a digit, and no letters but those of exponents and words for "no number".
fn is_row(line: &str) -> bool {
    let letters = |c: char| c.is_alphabetic() && !matches!(c, 'e' | 'E');
    line.contains(|c: char| c.is_ascii_digit()) && !line.contains(letters)
}

/// What stands between the numbers of a row: semicolons and tabs, or commas where there are neither.
fn separators(line: &str) -> String {
    let kept = |marks: &[char]| {
        line.chars()
            .filter(|c| marks.contains(c))
            .collect::<String>()
    };
    match kept(&[';', '\t']) {
        none if none.is_empty() => kept(&[',']),
        some => some,
    }
}

fn form(line: &str) -> String {
    let mut form = String::new();
    for character in line.chars().take(MOST_CHARACTERS) {
        match character {
            '0'..='9' if form.ends_with('0') => {}
            '0'..='9' => form.push('0'),
            '+' | '-' => {}
            other => form.push(other),
        }
    }
    form
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::data::MemorySource;

    fn of(text: &str) -> String {
        signature(&MemorySource::new("a.csv", text.as_bytes().to_vec()))
    }

    #[test]
    fn samples_and_counts_do_not_matter_and_names_do() {
        let one = of("Points,5000\nt,CH1\n0.0,1.5\n1.0,-2\n");
        assert_eq!(one, of("Points,12\nt,CH1\n-1e-3,0.25\n7,8\n"));
        assert_eq!(one, "Points,0\nt,CH0\n,");
        assert_ne!(one, of("Points,5000\nt,VCC\n0.0,1.5\n"));
        assert_ne!(one, of("Points;5000\nt;CH1\n0.0;1.5\n"));
    }

    #[test]
    fn what_is_no_text_has_none() {
        assert_eq!(of(""), "");
        assert_eq!(
            signature(&MemorySource::new("a", [0_u8, 1, 2].as_slice())),
            ""
        );
    }
}
