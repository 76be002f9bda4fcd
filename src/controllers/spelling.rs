//! Spellings of a marking: case, spaces, package suffixes, class numbers, edit distance.

/// Package, reel and lead-finish suffixes that do not change the electrical part.
const SUFFIXES: [&str; 22] = [
    "DGK", "DR2", "PBF", "DR", "R2", "D1", "D8", "DW", "PW", "TR", "E4", "E1", "G4", "N", "P", "J",
    "Y", "D", "M", "G", "Z", "T",
];
/// More words on a case than this are not tried in every combination.
const MOST_WORDS: usize = 6;
/// A part of the lines counts as a marking only from this many signs on: shorter top marks have to
/// stand alone.
const SHORTEST_PART: usize = 4;

/// One way to read the lines on a case.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Reading {
    /// What is taken for the marking.
    pub text: String,
    /// What is taken for maker, date or lot; empty when everything is taken.
    pub left_out: String,
}

/// The ways to read what stands on a case: all of it first, then fewer and fewer neighbouring
/// words, from the left. Figures alone count behind other words as date or lot.
pub(super) fn readings(marking: &str) -> Vec<Reading> {
    let outside = marking.split_once('(').map_or(marking, |(b, _)| b);
    let words: Vec<&str> = outside
        .split(|c: char| c.is_whitespace() || matches!(c, '/' | ',' | ';' | '|'))
        .filter(|word| !word.is_empty())
        .collect();
    let mut all = vec![Reading {
        text: marking.trim().to_owned(),
        left_out: String::new(),
    }];
    if !(2..=MOST_WORDS).contains(&words.len()) {
        return all;
    }
    for length in (1..words.len()).rev() {
        for (at, run) in words.windows(length).enumerate() {
            let text = run.join(" ");
            let known = plain(&text);
            let figures = known.chars().all(|c| c.is_ascii_digit());
            let digits = known.contains(|c: char| c.is_ascii_digit());
            if known.len() < SHORTEST_PART || !digits || (figures && at > 0) {
                continue;
            }
            let (before, after) = (&words[..at], &words[at + length..]);
            let left_out = [before, after].concat().join(" ");
            all.push(Reading { text, left_out });
        }
    }
    all
}

/// A plain spelling without the maker's letters in front, where a number of at least
/// [`SHORTEST_PART`] signs is left: `SG6841S` gives `6841S`.
pub(super) fn number_alone(plain: &str) -> Option<String> {
    let number = plain.trim_start_matches(|c: char| c.is_ascii_alphabetic());
    let prefix = plain.len() - number.len();
    (number.len() >= SHORTEST_PART && (1..=4).contains(&prefix)).then(|| number.to_owned())
}

/// Letters and digits only, in capitals; what stands in brackets is left out.
pub(super) fn plain(marking: &str) -> String {
    let outside = marking
        .split_once('(')
        .map_or(marking, |(before, _)| before);
    outside
        .chars()
        .filter(char::is_ascii_alphanumeric)
        .map(|c| c.to_ascii_uppercase())
        .collect()
}

/// What stands in brackets, in small letters, for instance the maker in `UC3844 (TI)`.
pub(super) fn in_brackets(marking: &str) -> Option<String> {
    let (_, after) = marking.split_once('(')?;
    let inner = after.split_once(')').map_or(after, |(inner, _)| inner);
    let inner = inner.trim().to_lowercase();
    (!inner.is_empty()).then_some(inner)
}

/// The spelling without one, two, … suffixes: each round holds all ways to take off that many.
/// A suffix is only taken off behind the class number; a figure behind the package, as in
/// `UCC3813PW2`, stays.
pub(super) fn without_suffixes(plain: &str) -> Vec<Vec<String>> {
    let shortest = ClassNumber::read(plain).map_or(4, |class| class.end());
    let mut rounds = vec![vec![plain.to_owned()]];
    let (body, figure) = plain.split_at(plain.len() - usize::from(ends_in_version(plain)));
    for _ in 0..4 {
        let Some(last) = rounds.last() else { break };
        let taken_off = |text: &String| -> Vec<String> {
            let off = |suffix: &&str| text.strip_suffix(*suffix).map(str::to_owned);
            let inner = |suffix: &&str| {
                let body = text.strip_suffix(figure)?;
                Some(format!("{}{figure}", body.strip_suffix(*suffix)?))
            };
            let inside = !figure.is_empty() && text.len() > figure.len() && !body.is_empty();
            let inside = SUFFIXES.iter().filter(|_| inside).filter_map(inner);
            SUFFIXES.iter().filter_map(off).chain(inside).collect()
        };
        let mut next: Vec<String> = last
            .iter()
            .flat_map(taken_off)
            .filter(|text| text.len() >= shortest)
            .collect();
        next.sort();
        next.dedup();
        if next.is_empty() {
            break;
        }
        rounds.push(next);
    }
    rounds
}

/// Does the spelling end in letters and one figure, as the version of `UCC3813PW2` does?
fn ends_in_version(plain: &str) -> bool {
    let mut signs = plain.chars().rev();
    let figure = signs.next().is_some_and(|c| c.is_ascii_digit());
    figure && signs.next().is_some_and(|c| c.is_ascii_alphabetic())
}

/// A marking taken apart: maker's letters, class number, what follows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct ClassNumber {
    /// Letters before the number.
    pub prefix: String,
    /// Grade digit, 84 or 8C4, variant digit; `X` stands for any.
    pub number: String,
    /// A, B or C behind the number.
    pub letter: Option<char>,
    /// What follows after that.
    pub rest: String,
}

impl ClassNumber {
    /// Takes a plain spelling apart; `None` when there is no 384x or 38C4x number in it.
    pub fn read(plain: &str) -> Option<ClassNumber> {
        let digit = |c: char| c.is_ascii_digit();
        let known = |c: char| matches!(c, '1'..='3' | 'X');
        // a leading 8 may be the class written short, as in "844"
        let short = plain.starts_with("84") && plain.chars().nth(2).is_some_and(digit);
        let text = if short {
            format!("X{plain}")
        } else {
            plain.to_owned()
        };
        let (class, variants) = if text.contains("8C4") {
            ("8C4", '0'..='5')
        } else {
            ("84", '2'..='5')
        };
        let at = text.find(class).filter(|at| *at > 0)?;
        let (before, after) = (text.get(..at - 1)?, text.get(at + class.len()..)?);
        let first = text.get(at - 1..at)?.chars().next().filter(|c| known(*c))?;
        let mut tail = after.chars();
        let last = tail.next().filter(|c| variants.contains(c) || *c == 'X')?;
        let tail = tail.as_str();
        if before.len() > 4 || before.contains(digit) || tail.starts_with(digit) {
            return None;
        }
        let letter = tail.chars().next().filter(|c| matches!(c, 'A' | 'B' | 'C'));
        Some(ClassNumber {
            prefix: before.to_owned(),
            number: format!("{first}{class}{last}"),
            letter,
            rest: tail.get(usize::from(letter.is_some())..)?.to_owned(),
        })
    }

    /// Is it nothing but the class, as "3844", "3844B", "x844", "844"?
    pub fn is_bare(&self) -> bool {
        self.prefix.is_empty() && self.rest.is_empty()
    }

    /// Length of the spelling up to the end of the number.
    fn end(&self) -> usize {
        self.prefix.len() + self.number.len()
    }

    /// Does the part belong to this class? `X` fits any digit, a missing letter fits any letter.
    pub fn holds(&self, part: &ClassNumber) -> bool {
        let digits = self.number.chars().zip(part.number.chars());
        let same = digits
            .into_iter()
            .all(|(a, b)| a == b || a == 'X' || b == 'X');
        let same = same && self.number.len() == part.number.len();
        same && (self.letter.is_none() || self.letter == part.letter)
    }
}

/// Number of single-letter changes from one spelling to the other (Levenshtein).
pub(super) fn distance(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, from) in a.chars().enumerate() {
        let mut next = vec![i + 1];
        for ((to, above), above_left) in b.iter().zip(row.iter().skip(1)).zip(&row) {
            let left = next.last().copied().unwrap_or(0);
            let change = above_left + usize::from(from != *to);
            next.push(change.min(above + 1).min(left + 1));
        }
        row = next;
    }
    row.last().copied().unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn markings_are_taken_apart() {
        assert_eq!(plain("uc 3844-b (ST)"), "UC3844B");
        assert_eq!(in_brackets("UC3844 (TI)").as_deref(), Some("ti"));
        let class = ClassNumber::read("NCV3842BVD1").expect("has a class number");
        assert_eq!(class.prefix, "NCV");
        assert_eq!((class.number.as_str(), class.letter), ("3842", Some('B')));
        assert_eq!(class.rest, "VD1");
        for bare in ["3844", "3844B", "X844", "844", "384X"] {
            assert!(
                ClassNumber::read(bare).is_some_and(|c| c.is_bare()),
                "{bare}"
            );
        }
        for other in [
            "ISL6844", "UC3846", "UC38444", "84", "", "LM324", "UCC38C47",
        ] {
            assert_eq!(ClassNumber::read(other), None, "{other}");
        }
    }

    #[test]
    fn suffixes_come_off_behind_the_number_only() {
        let rounds = without_suffixes("AP3842CMTRE1");
        assert!(rounds.iter().flatten().any(|text| text == "AP3842C"));
        assert!(
            without_suffixes("UC3844N")
                .concat()
                .iter()
                .all(|t| t.starts_with("UC3844"))
        );
    }

    #[test]
    fn distances_count_single_changes() {
        assert_eq!(distance("UC3844", "UC3844"), 0);
        assert_eq!(distance("UC3844", "UC3844B"), 1);
        assert_eq!(distance("", "ABC"), 3);
        assert_eq!(distance("KITTEN", "SITTING"), 3);
    }
}
