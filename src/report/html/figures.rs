//! Pictures on the page: the record drawn, and attached photos.

use super::page::Page;
use super::{Sheet, or};
use crate::report::escape::{base64, escaped};
use crate::report::job::run_words;
use crate::report::svg::{Look, Picture, svg};

/// Width of a picture; the page shows it as wide as its column.
const WIDTH: f64 = 720.0;

/// Lanes and threshold loop of each run.
pub(super) fn drawn(page: &mut Page, sheet: &Sheet<'_>) {
    if sheet
        .drawings
        .iter()
        .all(|(_, drawings)| drawings.is_empty())
    {
        return;
    }
    page.heading(2, "The record, drawn");
    page.quiet("Published limits are shaded; a typical value alone is a line. Starts and stops run through all lanes of a shot.");
    for (run, drawings) in sheet.drawings {
        if drawings.is_empty() {
            continue;
        }
        page.heading(
            3,
            &sheet.report.run(*run).map(run_words).unwrap_or_default(),
        );
        for (number, drawing) in drawings.iter().enumerate() {
            let each = if drawing.bands.is_empty() {
                104.0
            } else {
                190.0
            };
            let picture = Picture {
                width: WIDTH,
                height: each * drawing.panels.len().max(1) as f64 + 34.0,
                look: Look::Light,
            };
            let id = format!("run{}-{}", run + 1, number + 1);
            let caption = format!("{}. {}", drawing.title, drawing.described);
            page.figure(&svg(drawing, &picture, &id), &caption);
        }
    }
}

/// Photos and pictures of screens; what is not shown is named with the reason.
pub(super) fn photos(page: &mut Page, sheet: &Sheet<'_>) {
    if sheet.photos.is_empty() {
        return;
    }
    page.heading(2, "Photos");
    for photo in sheet.photos {
        let name = or(&photo.title, &photo.file);
        match &photo.content {
            Ok((kind, bytes)) => {
                let image = format!(
                    "<img alt=\"{}\" src=\"data:{kind};base64,{}\">\n",
                    escaped(&name),
                    base64(bytes)
                );
                page.figure(&image, &format!("{name} ({})", photo.file));
            }
            Err(why) => page.paragraph(&format!("{name} ({}): not shown here: {why}", photo.file)),
        }
    }
}
