//! SI units: newtypes for scalars that cross a room boundary, and [`Unit`] for tables.
//!
//! Everything inside the library is in SI base units; prefixes exist only in text
//! (see [`crate::data::text`]).

use std::fmt;

macro_rules! quantity_newtypes {
    ($($(#[$doc:meta])* $name:ident => $unit:expr;)*) => {$(
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
        pub struct $name(pub f64);

        impl $name {
            /// The unit that this type carries.
            pub const UNIT: Unit = $unit;
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(&crate::data::text::engineering(self.0, $unit, 4))
            }
        }
    )*};
}

quantity_newtypes! {
    /// Electric potential difference, in volts.
    Volts => Unit::Volt;
    /// Current, in amperes.
    Amps => Unit::Ampere;
    /// A span of time, in seconds.
    Seconds => Unit::Second;
    /// Frequency, in hertz.
    Hertz => Unit::Hertz;
    /// Resistance, in ohms.
    Ohms => Unit::Ohm;
    /// Capacitance, in farads.
    Farads => Unit::Farad;
    /// A pure ratio; 1 is 100 %.
    Ratio => Unit::One;
}

/// The unit of a channel, a quantity or a limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub enum Unit {
    /// V
    #[default]
    Volt,
    /// A
    Ampere,
    /// s
    Second,
    /// Hz
    Hertz,
    /// Ω
    Ohm,
    /// F
    Farad,
    /// H
    Henry,
    /// W
    Watt,
    /// C (charge)
    Coulomb,
    /// V/s
    VoltPerSecond,
    /// °C
    Celsius,
    /// A share of a whole (a duty cycle), shown in per cent; 1 is 100 %.
    One,
    /// A quotient of two like quantities, shown as a plain number.
    Quotient,
    /// A whole number of things.
    Count,
    /// The file or the user named no unit, or one that is not known here.
    Unknown,
}

impl Unit {
    /// The symbol used in JSON and in files: SI symbols, `1` for a ratio or a count, `?` if unknown.
    pub fn symbol(self) -> &'static str {
        match self {
            Unit::Volt => "V",
            Unit::Ampere => "A",
            Unit::Second => "s",
            Unit::Hertz => "Hz",
            Unit::Ohm => "Ohm",
            Unit::Farad => "F",
            Unit::Henry => "H",
            Unit::Watt => "W",
            Unit::Coulomb => "C",
            Unit::VoltPerSecond => "V/s",
            Unit::Celsius => "degC",
            Unit::One | Unit::Quotient | Unit::Count => "1",
            Unit::Unknown => "?",
        }
    }

    /// The symbol shown to a person: `Ω`, `°C`, and nothing for a ratio, a count or an unknown unit.
    pub fn shown(self) -> &'static str {
        match self {
            Unit::Ohm => "Ω",
            Unit::Celsius => "°C",
            Unit::One | Unit::Quotient | Unit::Count | Unit::Unknown => "",
            other => other.symbol(),
        }
    }
}
