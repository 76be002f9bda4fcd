//! Units in words: `mV`, `[ms]`, `Time (s)`, `t/ms`, `VCC in V`, `Time_us`.

use crate::data::Unit;

/// A unit with the factor of its prefix.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scaled {
    /// The SI unit.
    pub unit: Unit,
    /// What one of the file's units is in SI units.
    pub factor: f64,
}

const PREFIXES: [(&str, f64); 17] = [
    ("мк", 1e-6), // Cyrillic
    ("м", 1e-3),
    ("н", 1e-9),
    ("п", 1e-12),
    ("к", 1e3),
    ("М", 1e6),
    ("p", 1e-12),
    ("n", 1e-9),
    ("u", 1e-6),
    ("µ", 1e-6), // micro sign
    ("μ", 1e-6), // Greek letter mu
    ("m", 1e-3),
    ("k", 1e3),
    ("K", 1e3),
    ("M", 1e6),
    ("G", 1e9),
    ("", 1.0),
];

const SYMBOLS: [(&str, Unit); 22] = [
    ("Sa/s", Unit::Hertz), // samples per second are a rate like any other
    ("S/s", Unit::Hertz),
    ("sps", Unit::Hertz),
    ("\u{412}", Unit::Volt), // Cyrillic
    ("\u{410}", Unit::Ampere),
    ("\u{441}", Unit::Second),
    ("\u{413}\u{446}", Unit::Hertz),
    ("\u{41E}\u{43C}", Unit::Ohm),
    ("сек", Unit::Second),
    ("V", Unit::Volt),
    ("A", Unit::Ampere),
    ("s", Unit::Second),
    ("S", Unit::Second),
    ("sec", Unit::Second),
    ("Sec", Unit::Second),
    ("Hz", Unit::Hertz),
    ("\u{3A9}", Unit::Ohm),  // Greek letter
    ("\u{2126}", Unit::Ohm), // ohm sign
    ("Ohm", Unit::Ohm),
    ("ohm", Unit::Ohm),
    ("F", Unit::Farad),
    ("W", Unit::Watt),
];

const WORDS: [(&str, Unit); 26] = [
    ("sekunde", Unit::Second),
    ("sekunden", Unit::Second),
    ("seconde", Unit::Second),
    ("secondes", Unit::Second),
    ("segundo", Unit::Second),
    ("segundos", Unit::Second),
    ("秒", Unit::Second),
    ("伏", Unit::Volt),
    ("伏特", Unit::Volt),
    ("安", Unit::Ampere),
    ("赫兹", Unit::Hertz),
    ("volt", Unit::Volt),
    ("volts", Unit::Volt),
    ("v", Unit::Volt),
    ("amp", Unit::Ampere),
    ("amps", Unit::Ampere),
    ("ampere", Unit::Ampere),
    ("amperes", Unit::Ampere),
    ("second", Unit::Second),
    ("seconds", Unit::Second),
    ("hertz", Unit::Hertz),
    ("hz", Unit::Hertz),
    ("ohms", Unit::Ohm),
    ("watt", Unit::Watt),
    ("degc", Unit::Celsius),
    ("°c", Unit::Celsius),
];

const LONG_PREFIXES: [(&str, f64); 11] = [
    ("mikro", 1e-6),
    ("mili", 1e-3),
    ("纳", 1e-9),
    ("微", 1e-6),
    ("毫", 1e-3),
    ("nano", 1e-9),
    ("micro", 1e-6),
    ("milli", 1e-3),
    ("kilo", 1e3),
    ("mega", 1e6),
    ("", 1.0),
];

/// The unit that `text` names, brackets around it aside; `None` when it names none that is known.
pub fn parse(text: &str) -> Option<Scaled> {
    let text = unbracketed(text.trim());
    for (symbol, unit) in SYMBOLS {
        let Some(prefix) = text.strip_suffix(symbol) else {
            continue;
        };
        if let Some((_, factor)) = PREFIXES.iter().find(|(p, _)| *p == prefix) {
            return Some(Scaled {
                unit,
                factor: *factor,
            });
        }
    }
    let lower = text.to_lowercase();
    if lower == "%" {
        return Some(Scaled {
            unit: Unit::One,
            factor: 0.01,
        });
    }
    for (prefix, factor) in LONG_PREFIXES {
        let Some(rest) = lower.strip_prefix(prefix) else {
            continue;
        };
        if let Some((_, unit)) = WORDS.iter().find(|(word, _)| *word == rest)
            && (prefix.is_empty() || rest.len() > 2 || !rest.is_ascii())
        {
            return Some(Scaled {
                unit: *unit,
                factor,
            });
        }
    }
    None
}

fn unbracketed(text: &str) -> &str {
    for (open, close) in [('(', ')'), ('[', ']'), ('{', '}'), ('<', '>')] {
        if let Some(inner) = text.strip_prefix(open).and_then(|t| t.strip_suffix(close)) {
            return inner.trim();
        }
    }
    text
}

/// A name apart from the unit that it carries.
#[derive(Debug, Clone, PartialEq)]
pub struct Named<'a> {
    /// The name without the unit.
    pub name: &'a str,
    /// The unit; `None` when none is named.
    pub unit: Option<Scaled>,
    /// A unit that stands in brackets and is not known.
    pub unknown: Option<&'a str>,
}

/// Takes the unit out of a column's name. A name that is nothing but a bracketed unit is kept whole.
pub fn split_name(text: &str) -> Named<'_> {
    let text = text.trim();
    let plain = Named {
        name: text,
        unit: None,
        unknown: None,
    };
    if let Some((name, inner)) = bracketed(text) {
        return match parse(inner) {
            Some(unit) => Named {
                name: if name.is_empty() { text } else { name },
                unit: Some(unit),
                unknown: None,
            },
            None => Named {
                unknown: Some(inner),
                ..plain
            },
        };
    }
    for mark in [" in ", "/", ", ", "_", " "] {
        let Some((name, word)) = text.rsplit_once(mark) else {
            continue;
        };
        let name = name.trim();
        if let Some(unit) = parse(word)
            && !name.is_empty()
            && joins(mark, name, word, unit)
        {
            return Named {
                name,
                unit: Some(unit),
                unknown: None,
            };
        }
    }
    plain
}

/// May `mark` join a name and a unit here? `OUT_A` and `CH A` are names, `Time_us` and `VCC_mV` are not.
fn joins(mark: &str, name: &str, word: &str, unit: Scaled) -> bool {
    match mark {
        "_" | " " => {
            word.chars().count() > 1 && word != "Sec"
                || word == "V"
                || (unit.unit == Unit::Second && is_time_word(name))
        }
        "/" => !word.eq_ignore_ascii_case("a") || word == "A",
        _ => true,
    }
}

fn bracketed(text: &str) -> Option<(&str, &str)> {
    for (open, close) in [('(', ')'), ('[', ']'), ('{', '}')] {
        if let Some(before) = text.strip_suffix(close)
            && let Some((name, inner)) = before.rsplit_once(open)
        {
            return Some((name.trim(), inner.trim()));
        }
    }
    None
}

/// Does a column of this name (unit taken out) hold time?
pub fn is_time_word(name: &str) -> bool {
    const WORDS: [&str; 34] = [
        "t",
        "time",
        "times",
        "timestamp",
        "time stamp",
        "zeit",
        "zeitpunkt",
        "uhrzeit",
        "temps",
        "heure",
        "tiempo",
        "hora",
        "tempo",
        "tijd",
        "tid",
        "czas",
        "čas",
        "idő",
        "aika",
        "zaman",
        "время",
        "час",
        "χρόνος",
        "时间",
        "時間",
        "时刻",
        "時刻",
        "시간",
        "seconds",
        "second",
        "sec",
        "time base",
        "x-axis",
        "x",
    ];
    let name = name.trim().trim_matches('"').to_lowercase();
    WORDS.contains(&name.as_str())
}

/// Does a column of this name count samples?
pub fn is_index_word(name: &str) -> bool {
    const WORDS: [&str; 30] = [
        "index",
        "idx",
        "sample",
        "samples",
        "sample no",
        "sample no.",
        "sample number",
        "sequence",
        "n",
        "no",
        "no.",
        "nr",
        "nr.",
        "number",
        "#",
        "point",
        "points",
        "row",
        "count",
        "counter",
        "nummer",
        "punkt",
        "numéro",
        "número",
        "numer",
        "номер",
        "№",
        "序号",
        "番号",
        "번호",
    ];
    let name = name.trim().trim_matches('"').to_lowercase();
    WORDS.contains(&name.as_str())
}

/// Does a column of this name (unit taken out) hold frequency?
pub fn is_frequency_word(name: &str) -> bool {
    const WORDS: [&str; 12] = [
        "f",
        "freq",
        "freq.",
        "frequency",
        "frequenz",
        "fréquence",
        "frecuencia",
        "frequenza",
        "częstotliwość",
        "частота",
        "频率",
        "周波数",
    ];
    let name = name.trim().trim_matches('"').to_lowercase();
    WORDS.contains(&name.as_str())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn close(text: &str, unit: Unit, factor: f64) {
        let found = parse(text).unwrap_or_else(|| panic!("{text}"));
        assert_eq!(found.unit, unit, "{text}");
        assert!((found.factor / factor - 1.0).abs() < 1e-12, "{text}");
    }

    #[test]
    fn units_with_prefixes_are_known() {
        close("mV", Unit::Volt, 1e-3);
        close("MV", Unit::Volt, 1e6);
        close("[µs]", Unit::Second, 1e-6);
        close("μs", Unit::Second, 1e-6);
        close("(Volts)", Unit::Volt, 1.0);
        close("milliseconds", Unit::Second, 1e-3);
        close("kHz", Unit::Hertz, 1e3);
        close("%", Unit::One, 0.01);
        for text in ["", "m", "dB", "x", "mm", "bit"] {
            assert_eq!(parse(text), None, "{text}");
        }
    }

    #[test]
    fn names_give_up_their_units() {
        for (text, name, unit, factor) in [
            ("Time (s)", "Time", Unit::Second, 1.0),
            ("CH1 [mV]", "CH1", Unit::Volt, 1e-3),
            ("VCC in V", "VCC", Unit::Volt, 1.0),
            ("t/ms", "t", Unit::Second, 1e-3),
            ("Time_us", "Time", Unit::Second, 1e-6),
            ("t_s", "t", Unit::Second, 1.0),
            ("VCC_mV", "VCC", Unit::Volt, 1e-3),
            ("Zeit in µs", "Zeit", Unit::Second, 1e-6),
            ("(V)", "(V)", Unit::Volt, 1.0),
        ] {
            let found = split_name(text);
            assert_eq!(found.name, name, "{text}");
            let scaled = found.unit.unwrap_or_else(|| panic!("{text}"));
            assert_eq!(scaled.unit, unit, "{text}");
            assert!((scaled.factor / factor - 1.0).abs() < 1e-12, "{text}");
        }
        for name in ["RT/CT", "OUT_A", "CH A", "VREF (8)", "CH1", "", "out s"] {
            assert_eq!(split_name(name).unit, None, "{name}");
            assert_eq!(split_name(name).name, name);
        }
        assert_eq!(split_name("gain (dB)").unknown, Some("dB"));
    }
}
