//! Text of a file or a user made inert for pages, pictures and tables.

use crate::data::text::harmless;

/// Text for HTML and SVG, between tags and in quoted attributes: the five characters that mean something
/// there as references, control and direction-changing characters as `·`.
pub fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in harmless(text, usize::MAX).chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            // no characters of XML 1.0 (section 2.2), though Unicode has them
            '\u{FFFE}' | '\u{FFFF}' => out.push('·'),
            other => out.push(other),
        }
    }
    out
}

/// The bytes in base64 (RFC 4648, section 4), with padding.
pub fn base64(bytes: &[u8]) -> String {
    const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut out = String::with_capacity(bytes.len().div_ceil(3) * 4);
    for group in bytes.chunks(3) {
        let byte = |k: usize| u32::from(group.get(k).copied().unwrap_or(0));
        let bits = byte(0) << 16 | byte(1) << 8 | byte(2);
        for k in 0..4 {
            let letter = LETTERS[(bits >> (18 - 6 * k) & 63) as usize];
            let there = k <= group.len();
            out.push(if there { char::from(letter) } else { '=' });
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn base64_of_the_standard() {
        // test vectors of RFC 4648, section 10
        for (plain, coded) in [
            ("", ""),
            ("f", "Zg=="),
            ("fo", "Zm8="),
            ("foo", "Zm9v"),
            ("foob", "Zm9vYg=="),
            ("fooba", "Zm9vYmE="),
            ("foobar", "Zm9vYmFy"),
        ] {
            assert_eq!(base64(plain.as_bytes()), coded);
        }
    }

    #[test]
    fn nothing_of_a_text_means_anything_to_a_page() {
        let text = "<b onclick='x'>\"&amp;\u{202E}\u{0}\u{FFFF}";
        assert_eq!(
            escaped(text),
            "&lt;b onclick=&#39;x&#39;&gt;&quot;&amp;amp;···"
        );
    }
}
