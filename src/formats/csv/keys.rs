//! Properties that stand before the samples, by the words that name them.

/// What a property says about the record.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Key {
    /// Time from one sample to the next.
    Interval,
    /// Samples per second.
    Rate,
    /// How many samples there are.
    Points,
    /// Time of the first sample.
    Start,
    /// Which sample is at time zero.
    ZeroSample,
    /// Unit of time.
    TimeUnit,
    /// Unit of the values.
    Unit,
    /// Value of one count.
    PerCount,
    /// A scale that may be per count or per division.
    Scale,
    /// Value of count 0.
    Offset,
    /// Count at value 0.
    ZeroCount,
    /// Volts per division.
    PerDivision,
    /// Range that could be shown.
    FullScale,
    /// Factor of the probe.
    Probe,
    /// Name of a channel.
    Channel,
    /// Number of a segment.
    Segment,
}

/// The words of each property, as [`plain`] writes them.
const WORDS: &[(Key, &[&str])] = &[
    (
        Key::Rate,
        &[
            "sample rate",
            "sampling rate",
            "samplerate",
            "sample frequency",
            "sampling frequency",
            "rate",
            "fs",
            "samples per second",
            "samples/s",
            "abtastrate",
            "abtastfrequenz",
            "frequence d echantillonnage",
            "fréquence d échantillonnage",
            "frecuencia de muestreo",
            "frequenza di campionamento",
            "frequência de amostragem",
            "częstotliwość próbkowania",
            "частота дискретизации",
            "采样率",
            "采样频率",
            "サンプリング周波数",
            "サンプリングレート",
        ],
    ),
    (
        Key::Interval,
        &[
            "interval",
            "sample interval",
            "sampling interval",
            "sample time",
            "sample period",
            "sampling period",
            "sampling time",
            "time interval",
            "time step",
            "time increment",
            "time per sample",
            "time per point",
            "time resolution",
            "horizontal interval",
            "horizontal increment",
            "increment",
            "step",
            "delta t",
            "delta",
            "dt",
            "ts",
            "x increment",
            "x interval",
            "x step",
            "xincrement",
            "xincr",
            "xinc",
            "abtastintervall",
            "abtastzeit",
            "messintervall",
            "zeitintervall",
            "intervall",
            "schrittweite",
            "intervalle",
            "période d échantillonnage",
            "pas de temps",
            "intervalo",
            "intervalo de muestreo",
            "período de muestreo",
            "intervallo",
            "okres próbkowania",
            "интервал",
            "шаг",
            "период дискретизации",
            "采样间隔",
            "采样周期",
            "サンプリング間隔",
        ],
    ),
    (
        Key::Points,
        &[
            "points",
            "record length",
            "number of points",
            "number of samples",
            "sample count",
            "samples",
            "memory length",
            "memory depth",
            "data points",
            "data length",
            "length",
            "npoints",
            "n points",
            "rows",
            "count",
            "anzahl",
            "anzahl punkte",
            "anzahl werte",
            "anzahl messwerte",
            "punkte",
            "messwerte",
            "nombre de points",
            "nombre d échantillons",
            "número de puntos",
            "número de muestras",
            "numero di punti",
            "liczba próbek",
            "liczba punktów",
            "число точек",
            "количество точек",
            "点数",
            "采样点数",
            "データ数",
        ],
    ),
    (
        Key::Start,
        &[
            "start",
            "start time",
            "x start",
            "xstart",
            "x origin",
            "xorigin",
            "x zero",
            "xzero",
            "t0",
            "first sample",
            "first sample time",
            "time of first sample",
            "time origin",
            "startzeit",
            "début",
            "inicio",
            "tiempo inicial",
            "начало",
            "起始时间",
            "開始時間",
        ],
    ),
    (
        Key::ZeroSample,
        &[
            "trigger sample",
            "trigger index",
            "trigger point",
            "trigger address",
            "zero sample",
            "pre trigger samples",
            "pretrigger samples",
        ],
    ),
    (
        Key::TimeUnit,
        &[
            "horizontal units",
            "horizontal unit",
            "time unit",
            "time units",
            "x unit",
            "x units",
            "xunit",
            "unit x",
            "zeiteinheit",
            "unité de temps",
            "unidad de tiempo",
            "единица времени",
            "时间单位",
            "時間単位",
        ],
    ),
    (
        Key::Unit,
        &[
            "vertical units",
            "vertical unit",
            "y unit",
            "y units",
            "yunit",
            "unit y",
            "unit",
            "units",
            "channel unit",
            "channel units",
            "value unit",
            "einheit",
            "unité",
            "unidad",
            "unidades",
            "unità",
            "jednostka",
            "единица",
            "единицы",
            "单位",
            "単位",
        ],
    ),
    (
        Key::PerCount,
        &[
            "volts per code",
            "volts per count",
            "volts per lsb",
            "volts per bit",
            "volts per step",
            "volt per code",
            "volt per count",
            "v per count",
            "v per code",
            "volts/count",
            "volts/code",
            "volts/lsb",
            "volts/bit",
            "v/count",
            "v/code",
            "v/lsb",
            "v/bit",
            "per count",
            "per code",
            "scale per count",
            "scale per code",
            "value per count",
            "value per code",
            "multiplier",
            "y multiplier",
            "ymult",
            "y increment",
            "yincrement",
            "y step",
            "code step",
            "lsb",
            "scale factor",
            "conversion factor",
        ],
    ),
    (Key::Scale, &["scale", "y scale", "gain", "factor"]),
    (
        Key::Offset,
        &[
            "offset",
            "y offset",
            "yoffset",
            "y zero",
            "yzero",
            "y origin",
            "yorigin",
            "vertical offset",
            "offset voltage",
            "volts offset",
            "offset in volts",
            "value at zero",
            "value at code 0",
            "value at count 0",
        ],
    ),
    (
        Key::ZeroCount,
        &[
            "zero code",
            "zero count",
            "code at zero",
            "code zero",
            "code offset",
            "offset code",
            "offset codes",
            "offset counts",
            "reference code",
            "y reference",
            "yreference",
            "midpoint",
            "mid code",
        ],
    ),
    (
        Key::PerDivision,
        &[
            "volts/div",
            "v/div",
            "volt/div",
            "volts per division",
            "volts per div",
            "vertical scale",
            "scale per division",
            "vertical sensitivity",
            "sensitivity",
        ],
    ),
    (
        Key::FullScale,
        &[
            "full scale",
            "fullscale",
            "full range",
            "range",
            "vertical range",
            "input range",
            "messbereich",
            "gamme",
            "rango",
            "диапазон",
            "量程",
        ],
    ),
    (
        Key::Probe,
        &[
            "probe",
            "probe factor",
            "probe ratio",
            "probe attenuation",
            "attenuation",
            "tastkopf",
            "sonde",
            "sonda",
            "щуп",
            "探头",
        ],
    ),
    (
        Key::Segment,
        &[
            "segment",
            "segment number",
            "segment no",
            "record",
            "record number",
            "record no",
            "frame",
            "frame number",
            "sweep",
            "sweep number",
            "acquisition",
            "acquisition number",
            "block",
            "segmento",
            "сегмент",
        ],
    ),
    (
        Key::Channel,
        &[
            "channel",
            "channel name",
            "channel number",
            "source",
            "trace",
            "signal",
            "label",
            "kanal",
            "quelle",
            "voie",
            "canal",
            "canale",
            "kanał",
            "канал",
            "通道",
            "チャンネル",
        ],
    ),
];

/// A name in lower case, with blanks for `_ - . : '` and one blank between words.
pub(super) fn plain(text: &str) -> String {
    let spaced: String = text
        .to_lowercase()
        .chars()
        .map(|c| {
            if matches!(c, '_' | '-' | '.' | ':' | '\'' | '’' | '=' | '"') {
                ' '
            } else {
                c
            }
        })
        .collect();
    let words: Vec<&str> = spaced.split_whitespace().collect();
    words.join(" ")
}

/// The property that a name (unit taken out) stands for.
pub(super) fn find(name: &str) -> Option<Key> {
    let name = plain(name);
    let is = |words: &&(Key, &[&str])| words.1.contains(&name.as_str());
    WORDS.iter().find(is).map(|(key, _)| *key)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_word_stands_for_two_properties() {
        let mut seen = std::collections::BTreeSet::new();
        for (_, words) in WORDS {
            for word in *words {
                assert!(seen.insert(*word), "{word}");
                assert_eq!(plain(word), *word);
            }
        }
    }

    #[test]
    fn names_are_found_however_they_are_written() {
        assert_eq!(find("Sample_Interval:"), Some(Key::Interval));
        assert_eq!(find("VOLTS/DIV"), Some(Key::PerDivision));
        assert_eq!(find("Fréquence d'échantillonnage"), Some(Key::Rate));
        assert_eq!(find("Firmware"), None);
    }
}
