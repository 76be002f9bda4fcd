//! The probe: asks every reader about the first bytes, and takes the one that fits best.

use super::{FormatError, ReadOptions, csv};
use crate::data::{Capture, ImportPreview, Progress, Runner, Source};

/// Bytes that readers are shown.
pub const HEAD_BYTES: usize = 64 * 1024;

/// What a reader says about a file from its first bytes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Sniff {
    /// Not mine, with the reason in words.
    Refusal(String),
    /// How well it fits (0 to 100: magic number 90 and up, known header 60 and up, plain columns
    /// below), with the reason in words.
    Score(u8, String),
}

/// A reader of one file format.
pub trait Reader: Sync {
    /// Stable word used in JSON and in records.
    fn id(&self) -> &'static str;

    /// Name shown.
    fn name(&self) -> &'static str;

    /// Usual extensions, lower case, without the dot. They only break ties.
    fn extensions(&self) -> &'static [&'static str];

    /// Judges the first bytes of a file, at most [`HEAD_BYTES`] of them, in the light of what the
    /// user decided: a told first row or separator can make sense of what fits nothing by itself.
    fn sniff(&self, head: &[u8], name: &str, options: &ReadOptions) -> Sniff;

    /// Reads the file.
    ///
    /// # Errors
    /// [`FormatError`], with file, line and what to do.
    fn read(
        &self,
        source: &dyn Source,
        options: &ReadOptions,
        runner: &dyn Runner,
        progress: &Progress,
    ) -> Result<Vec<Capture>, FormatError>;

    /// Understands the first lines without reading the rest: fills `preview` as far as it gets.
    ///
    /// # Errors
    /// [`FormatError`], with what was understood so far in `preview`.
    fn preview(
        &self,
        source: &dyn Source,
        options: &ReadOptions,
        preview: &mut ImportPreview,
    ) -> Result<(), FormatError>;
}

/// Every reader there is.
pub const READERS: &[&dyn Reader] = &[&csv::CsvReader];

/// The reader that fits best; where scores are equal, the one whose extension the file has.
///
/// # Errors
/// [`FormatError::Empty`], [`FormatError::Io`], or [`FormatError::NotRecognised`] with each reader's
/// reason.
pub fn choose(
    source: &dyn Source,
    options: &ReadOptions,
) -> Result<&'static dyn Reader, FormatError> {
    choose_among(READERS, source, options)
}

fn choose_among<'a>(
    readers: &[&'a dyn Reader],
    source: &dyn Source,
    options: &ReadOptions,
) -> Result<&'a dyn Reader, FormatError> {
    let file = source.name();
    let mut head = vec![0; HEAD_BYTES];
    let filled = source
        .read_full_at(0, &mut head)
        .map_err(|error| FormatError::io(file, &error))?;
    head.truncate(filled);
    if head.is_empty() {
        return Err(FormatError::Empty {
            file: file.to_owned(),
        });
    }
    let extension = file.rsplit_once('.').map(|(_, e)| e.to_ascii_lowercase());
    let mut best: Option<((u8, bool), &dyn Reader)> = None;
    let mut reasons = Vec::new();
    for reader in readers {
        match reader.sniff(&head, file, options) {
            Sniff::Refusal(reason) => reasons.push((reader.name(), reason)),
            Sniff::Score(score, _) => {
                let usual = extension
                    .as_deref()
                    .is_some_and(|e| reader.extensions().contains(&e));
                if best.is_none_or(|(rank, _)| (score, usual) > rank) {
                    best = Some(((score, usual), *reader));
                }
            }
        }
    }
    best.map(|(_, reader)| reader)
        .ok_or_else(|| FormatError::NotRecognised {
            file: file.to_owned(),
            reasons,
        })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::data::MemorySource;

    struct Fixed(&'static str, &'static [&'static str], u8);

    impl Reader for Fixed {
        fn id(&self) -> &'static str {
            self.0
        }
        fn name(&self) -> &'static str {
            self.0
        }
        fn extensions(&self) -> &'static [&'static str] {
            self.1
        }
        fn sniff(&self, _: &[u8], _: &str, _: &ReadOptions) -> Sniff {
            if self.2 == 0 {
                Sniff::Refusal("not mine".to_owned())
            } else {
                Sniff::Score(self.2, "mine".to_owned())
            }
        }
        fn read(
            &self,
            _: &dyn Source,
            _: &ReadOptions,
            _: &dyn Runner,
            _: &Progress,
        ) -> Result<Vec<Capture>, FormatError> {
            Ok(Vec::new())
        }
        fn preview(
            &self,
            _: &dyn Source,
            _: &ReadOptions,
            _: &mut ImportPreview,
        ) -> Result<(), FormatError> {
            Ok(())
        }
    }

    #[test]
    fn the_score_decides_and_the_extension_only_breaks_ties() {
        let source = MemorySource::new("x.bb", b"12".as_slice());
        let weak = Fixed("weak", &["bb"], 40);
        let plain = Fixed("plain", &["aa"], 50);
        let usual = Fixed("usual", &["bb"], 50);
        let options = ReadOptions::default();
        let chosen = choose_among(&[&weak, &plain, &usual], &source, &options).map(|r| r.id());
        assert_eq!(chosen.ok(), Some("usual"));
        let chosen = choose_among(&[&weak, &plain], &source, &options).map(|r| r.id());
        assert_eq!(chosen.ok(), Some("plain"));
    }

    #[test]
    fn when_all_refuse_each_reason_is_told() {
        let source = MemorySource::new("x", b"12".as_slice());
        let readers: [&dyn Reader; 2] = [&Fixed("one", &[], 0), &Fixed("two", &[], 0)];
        let error = choose_among(&readers, &source, &ReadOptions::default())
            .map(|r| r.id())
            .unwrap_err();
        assert!(error.to_string().contains("two: not mine"), "{error}");
    }
}
