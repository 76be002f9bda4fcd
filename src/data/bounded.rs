//! A value with the least and the most that it may have.

/// A computed value and its bounds. The bounds hold for every combination of the inputs within theirs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bounded {
    /// Least.
    pub low: f64,
    /// With every input at its nominal value.
    pub typ: f64,
    /// Most; infinite where there is no upper bound.
    pub high: f64,
}

impl Bounded {
    /// A value without doubt.
    pub fn exact(value: f64) -> Bounded {
        Bounded {
            low: value,
            typ: value,
            high: value,
        }
    }

    /// Bounds in either order around a nominal value, which widens them where it lies outside.
    ///
    /// ```
    /// use firstpulse::data::Bounded;
    /// let mains = Bounded::around(230.0, 253.0, 207.0);
    /// assert_eq!((mains.low, mains.typ, mains.high), (207.0, 230.0, 253.0));
    /// ```
    pub fn around(typ: f64, one: f64, other: f64) -> Bounded {
        Bounded {
            low: one.min(other).min(typ),
            typ,
            high: one.max(other).max(typ),
        }
    }

    /// The value off by a share below and above.
    pub fn within(typ: f64, minus: f64, plus: f64) -> Bounded {
        Bounded::around(typ, typ * (1.0 - minus), typ * (1.0 + plus))
    }

    /// Multiplied by a factor.
    pub fn times(self, factor: f64) -> Bounded {
        Bounded::around(self.typ * factor, self.low * factor, self.high * factor)
    }

    /// This and another as one: the nominal value of this, the wider bounds.
    pub fn joined(self, other: Bounded) -> Bounded {
        Bounded {
            low: self.low.min(other.low),
            typ: self.typ,
            high: self.high.max(other.high),
        }
    }

    /// Do the bounds hold this value?
    pub fn holds(&self, value: f64) -> bool {
        self.low <= value && value <= self.high
    }
}
