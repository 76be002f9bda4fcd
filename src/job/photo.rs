//! Attached pictures as bytes, for whoever shows them.

use std::path::Path;

use super::{hash, place};
use crate::data::job::Picture;

/// First bytes of the kinds of picture that are shown, with their media types (WHATWG MIME Sniffing, 6.1).
const KINDS: [(&[u8], &str); 4] = [
    (b"\x89PNG\r\n\x1a\n", "image/png"),
    (b"\xFF\xD8\xFF", "image/jpeg"),
    (b"GIF87a", "image/gif"),
    (b"GIF89a", "image/gif"),
];

/// The media type and the bytes of a picture of a job's folder, of at most `most` bytes.
///
/// # Errors
/// Why it is not given, as a phrase: it is not there, too large, of another kind, or another file than the one
/// that was recorded.
pub fn photo(
    folder: &Path,
    picture: &Picture,
    most: u64,
) -> Result<(&'static str, Vec<u8>), String> {
    let path = place::inside(folder, &picture.file).map_err(|error| error.to_string())?;
    let size = path.metadata().map_err(|error| error.to_string())?.len();
    if size > most {
        return Err(format!("it has {size} bytes, and up to {most} are shown"));
    }
    let bytes = std::fs::read(&path).map_err(|error| error.to_string())?;
    if !picture.sha256.is_empty() && hash::of_file(&path).ok().as_ref() != Some(&picture.sha256) {
        return Err("it is not the file that was recorded".to_owned());
    }
    let kind = KINDS.iter().find(|(start, _)| bytes.starts_with(start));
    let (_, kind) = kind.ok_or("it is no PNG, JPEG or GIF")?;
    Ok((kind, bytes))
}
