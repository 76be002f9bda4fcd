//! Text for terminals that are not UTF-8.

/// The text with every character outside ASCII written in ASCII; what has no such writing becomes `?`.
pub(super) fn ascii(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '±' => out.push_str("+/-"),
            'µ' | 'μ' => out.push('u'),
            'Ω' => out.push_str("Ohm"),
            '°' => out.push_str("deg"),
            '−' | '–' | '‑' => out.push('-'),
            '—' => out.push_str("--"),
            '…' => out.push_str("..."),
            '·' => out.push('.'),
            '×' => out.push('x'),
            '≤' => out.push_str("<="),
            '≥' => out.push_str(">="),
            '→' => out.push_str("->"),
            '’' | '‘' => out.push('\''),
            '“' | '”' => out.push('"'),
            '\u{a0}' | '\u{2009}' | '\u{202f}' => out.push(' '),
            '─' => out.push('-'),
            '│' => out.push('|'),
            c if c.is_ascii() => out.push(c),
            _ => out.push('?'),
        }
    }
    out
}
