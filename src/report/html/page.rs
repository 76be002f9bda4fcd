//! A growing page: headings, paragraphs, lists, tables. Every text goes through [`escaped`].

use super::super::escape::escaped;
use super::columns::widths;

/// The body of a page.
#[derive(Debug, Default)]
pub(super) struct Page {
    out: String,
}

impl Page {
    pub(super) fn finish(self) -> String {
        self.out
    }

    /// A heading of this level, 1 to 4.
    pub(super) fn heading(&mut self, level: u8, text: &str) {
        self.out
            .push_str(&format!("<h{level}>{}</h{level}>\n", escaped(text)));
    }

    /// A paragraph; each line of a text of several lines stands on its own. Nothing for an empty one.
    pub(super) fn paragraph(&mut self, text: &str) {
        self.classed("", text);
    }

    /// A paragraph that helps.
    pub(super) fn quiet(&mut self, text: &str) {
        self.classed(" class=\"quiet\"", text);
    }

    /// A paragraph that stands out.
    pub(super) fn banner(&mut self, text: &str) {
        self.classed(" class=\"banner\"", text);
    }

    fn classed(&mut self, class: &str, text: &str) {
        if !text.trim().is_empty() {
            self.out
                .push_str(&format!("<p{class}>{}</p>\n", lines(text)));
        }
    }

    /// A list; nothing for an empty one.
    pub(super) fn list(&mut self, items: &[String]) {
        if items.is_empty() {
            return;
        }
        self.out.push_str("<ul>\n");
        for item in items {
            self.out.push_str(&format!("<li>{}</li>\n", lines(item)));
        }
        self.out.push_str("</ul>\n");
    }

    /// A table with a caption and a head; the first cell of each row is its head. Nothing without rows.
    pub(super) fn table<const N: usize>(
        &mut self,
        caption: &str,
        head: [&str; N],
        rows: &[[String; N]],
    ) {
        if rows.is_empty() {
            return;
        }
        // a short one stays whole where it is printed, so that its head is never alone
        let class = if rows.len() <= 8 {
            " class=\"short\""
        } else {
            ""
        };
        self.begin_table(class, caption);
        let texts = rows
            .iter()
            .map(|row| row.iter().map(String::as_str).collect());
        let shares = widths(N, std::iter::once(head.to_vec()).chain(texts));
        self.out.push_str("<colgroup>");
        for share in shares {
            self.out
                .push_str(&format!("<col style=\"width:{share:.1}%\">"));
        }
        self.out.push_str("</colgroup>\n<thead><tr>");
        for name in head {
            self.out
                .push_str(&format!("<th scope=\"col\">{}</th>", escaped(name)));
        }
        self.out.push_str("</tr></thead>\n<tbody>\n");
        for row in rows {
            self.row(row);
        }
        self.out.push_str("</tbody></table>\n");
    }

    /// A table of names and what belongs to them; rows without a text are left out.
    pub(super) fn facts(&mut self, caption: &str, rows: &[(&str, String)]) {
        let mut there = rows
            .iter()
            .filter(|(_, text)| !text.trim().is_empty())
            .peekable();
        if there.peek().is_none() {
            return;
        }
        self.begin_table(" class=\"facts\"", caption);
        self.out.push_str("<tbody>\n");
        for (name, text) in there {
            self.row(&[(*name).to_owned(), text.clone()]);
        }
        self.out.push_str("</tbody></table>\n");
    }

    fn begin_table(&mut self, class: &str, caption: &str) {
        self.out.push_str(&format!(
            "<table{class}><caption>{}</caption>\n",
            escaped(caption)
        ));
    }

    fn row(&mut self, cells: &[String]) {
        self.out.push_str("<tr>");
        for (number, cell) in cells.iter().enumerate() {
            let text = lines(cell);
            self.out.push_str(&if number == 0 {
                format!("<th scope=\"row\">{text}</th>")
            } else {
                format!("<td>{text}</td>")
            });
        }
        self.out.push_str("</tr>\n");
    }

    /// A figure: a finished element and what stands below it.
    pub(super) fn figure(&mut self, element: &str, caption: &str) {
        self.out.push_str(&format!(
            "<figure>\n{element}<figcaption>{}</figcaption>\n</figure>\n",
            escaped(caption)
        ));
    }

    /// Opens a section of this class.
    pub(super) fn open(&mut self, class: &str) {
        self.out.push_str(&format!("<section class=\"{class}\">\n"));
    }

    /// Closes it.
    pub(super) fn close(&mut self) {
        self.out.push_str("</section>\n");
    }
}

/// The text with its lines kept.
fn lines(text: &str) -> String {
    let each: Vec<String> = text.trim().lines().map(escaped).collect();
    each.join("<br>\n")
}
