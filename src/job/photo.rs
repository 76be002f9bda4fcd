//! Attached pictures as bytes, for whoever shows them.

use std::path::Path;

use super::{hash, place};
use crate::data::job::{Job, Picture};

/// Most bytes of a photo that is shown, and of all of them.
const MOST_PHOTO: u64 = 2_000_000;
const MOST_PHOTOS: u64 = 16_000_000;

/// What an attached picture is.
#[derive(Debug, Clone, PartialEq)]
pub struct Photo {
    /// Its file, as the record names it.
    pub file: String,
    /// What it shows; may be empty.
    pub title: String,
    /// Its bytes with their media type, or why it is only named.
    pub content: Result<(&'static str, Vec<u8>), String>,
}

/// First bytes of the kinds of picture that are shown, with their media types (WHATWG MIME Sniffing, 6.1).
const KINDS: [(&[u8], &str); 4] = [
    (b"\x89PNG\r\n\x1a\n", "image/png"),
    (b"\xFF\xD8\xFF", "image/jpeg"),
    (b"GIF87a", "image/gif"),
    (b"GIF89a", "image/gif"),
];

/// The pictures of a job's folder, in the record's order: of up to 2 MB each and 16 MB together; others
/// are named with the reason.
pub fn photos(folder: &Path, job: &Job) -> Vec<Photo> {
    let mut left = MOST_PHOTOS;
    let one = |picture: &Picture| {
        let content = photo(folder, picture, MOST_PHOTO.min(left));
        if let Ok((_, bytes)) = &content {
            left = left.saturating_sub(bytes.len() as u64);
        }
        Photo {
            file: picture.file.clone(),
            title: picture.title.clone(),
            content,
        }
    };
    job.pictures.iter().map(one).collect()
}

/// The media type and the bytes of a picture, of at most `most` bytes, or why it is not given, as a
/// phrase: it is not there, too large, of another kind, or another file than the one that was recorded.
fn photo(folder: &Path, picture: &Picture, most: u64) -> Result<(&'static str, Vec<u8>), String> {
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
