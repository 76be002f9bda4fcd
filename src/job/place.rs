//! Paths of a record: always inside its folder, however they are written and whatever links there are.

use std::path::{Path, PathBuf};

use super::error::JobError;

/// Longest path in a record, in bytes.
const LONGEST: usize = 1000;

/// Is this a path that a record may name: relative, with `/`, and never upwards?
///
/// # Errors
/// A sentence that says what is wrong with it.
pub(super) fn check_relative(path: &str) -> Result<(), String> {
    let wrong = |what: &str| {
        let form = "a path inside the job's folder was expected, like captures/sweep.csv";
        Err(format!("{form}; this one {what}"))
    };
    if path.is_empty() || path.len() > LONGEST {
        return wrong("is empty or too long");
    }
    if path
        .chars()
        .any(|c| c.is_control() || matches!(c, '\\' | ':'))
    {
        return wrong("has a backslash, a colon or a control character");
    }
    for part in path.split('/') {
        match part {
            "" => return wrong("begins or ends with '/' or has two of them together"),
            "." | ".." => return wrong("has '.' or '..' in it"),
            _ => {}
        }
    }
    Ok(())
}

/// The file of a relative path in the job's folder, with all links followed.
///
/// # Errors
/// [`JobError::Refused`] where the path leads out of the folder or to something that is no file,
/// [`JobError::Io`] where it is not there.
pub(super) fn inside(folder: &Path, relative: &str) -> Result<PathBuf, JobError> {
    let path = joined(folder, relative)?;
    let unread = |error: std::io::Error| JobError::io(&path, "found", &error);
    let root = folder
        .canonicalize()
        .map_err(|error| JobError::io(folder, "found", &error))?;
    let real = path.canonicalize().map_err(unread)?;
    if !real.starts_with(&root) {
        let why = "is a link that leads out of the job's folder; put the file itself there";
        return Err(JobError::refused(&path, why));
    }
    if !real.metadata().map_err(unread)?.is_file() {
        return Err(JobError::refused(&path, "is no regular file"));
    }
    Ok(real)
}

/// Folder and relative path together, with nothing looked at on disk.
///
/// # Errors
/// [`JobError::Refused`] where [`check_relative`] refuses it.
pub(super) fn joined(folder: &Path, relative: &str) -> Result<PathBuf, JobError> {
    check_relative(relative).map_err(|why| JobError::refused(Path::new(relative), why))?;
    Ok(relative
        .split('/')
        .fold(folder.to_owned(), |path, part| path.join(part)))
}

/// A file name made of any name: no path in it, nothing that a desktop can't keep.
pub(super) fn file_name(name: &str) -> String {
    const LONGEST_NAME: usize = 100;
    let kept =
        |c: char| c.is_alphanumeric() || matches!(c, '-' | '_' | '.' | ' ' | '(' | ')' | '+');
    let plain: String = name
        .chars()
        .map(|c| if kept(c) { c } else { '-' })
        .collect();
    let (stem, ending) = match plain.rsplit_once('.') {
        Some((stem, ending)) if ending.len() <= 10 => (stem, Some(ending)),
        _ => (plain.as_str(), None),
    };
    let stem: String = stem.chars().take(LONGEST_NAME).collect();
    let stem = stem.trim_matches(['.', ' ']);
    let device = ["con", "prn", "aux", "nul"];
    let stem = match stem {
        "" => "file".to_owned(),
        taken if device.iter().any(|d| d.eq_ignore_ascii_case(taken)) => format!("file-{taken}"),
        plain => plain.to_owned(),
    };
    match ending.map(|ending| ending.trim_matches([' ', '.'])) {
        Some(ending) if !ending.is_empty() => format!("{stem}.{ending}"),
        _ => stem,
    }
}

/// The name with a number before its ending: `sweep-2.csv`.
pub(super) fn numbered(name: &str, number: u32) -> String {
    match name.rsplit_once('.') {
        Some((stem, ending)) => format!("{stem}-{number}.{ending}"),
        None => format!("{name}-{number}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn paths_that_leave_the_folder_are_refused() {
        for good in [
            "a.csv",
            "captures/a.csv",
            "captures/ä b (2).csv",
            "..a/b..",
            "...",
        ] {
            assert!(check_relative(good).is_ok(), "{good}");
        }
        for bad in [
            "",
            "/etc/passwd",
            "../a",
            "a/../../b",
            "a/..",
            "./a",
            "a//b",
            "a/",
            "C:a",
            "C:/a",
            "a\\..\\b",
            "\\\\host\\share",
            "a\0b",
            "a\nb",
        ] {
            assert!(check_relative(bad).is_err(), "{bad:?}");
        }
    }

    #[test]
    fn any_name_becomes_a_file_name_that_a_record_may_name() {
        for name in [
            "../../x",
            "a:b.csv",
            "",
            "...",
            "AUX",
            "x\u{202e}y.csv",
            "é.CSV",
            "a.",
            ".csv",
        ] {
            let made = file_name(name);
            assert!(
                check_relative(&made).is_ok() && !made.contains('/'),
                "{name:?}: {made:?}"
            );
        }
        assert_eq!(file_name("sweep 1.csv"), "sweep 1.csv");
        assert_eq!(numbered("sweep.csv", 2), "sweep-2.csv");
    }
}
