//! Decimal numbers from bytes, correctly rounded, one pass over the digits.

/// A number as printed: `±mantissa × 10^exponent`, and the double nearest to it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Number {
    /// The correctly rounded value.
    pub value: f64,
    /// The printed digits as one whole number; `u64::MAX` when there are more than 19 of them.
    pub mantissa: u64,
    /// Power of ten of the last printed digit.
    pub exponent: i32,
}

/// Largest mantissa whose single-precision error stays below a tenth of its last digit: the error
/// is at most mantissa × 2⁻²⁴ last digits.
const SINGLE_MANTISSA: u64 = (1 << 24) / 10;

/// Largest whole number up to which every one is a double.
pub(super) const EXACT: u64 = 1 << 53;

pub(super) const POWERS: [f64; 23] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16,
    1e17, 1e18, 1e19, 1e20, 1e21, 1e22,
];

impl Number {
    /// Does single precision keep the value to within a tenth of its last printed digit?
    #[inline]
    pub fn fits_single(&self) -> bool {
        let small = self.mantissa <= SINGLE_MANTISSA && (-30..=30).contains(&self.exponent);
        small || self.fits_single_exactly()
    }

    #[cold]
    fn fits_single_exactly(&self) -> bool {
        let single = self.value as f32;
        if self.value == 0.0 || f64::from(single).to_bits() == self.value.to_bits() {
            return true;
        }
        single.is_normal()
            && (f64::from(single) - self.value).abs() < 0.1 * 10_f64.powi(self.exponent)
    }
}

const WHOLE_POWERS: [u64; 9] = [
    1,
    10,
    100,
    1_000,
    10_000,
    100_000,
    1_000_000,
    10_000_000,
    100_000_000,
];

/// The number that the digits at the start of eight bytes make, and how many they are.
#[inline(always)]
fn leading_digits(chunk: [u8; 8]) -> (u64, usize) {
    const ONES: u64 = 0x0101_0101_0101_0101;
    let digits = u64::from_le_bytes(chunk) ^ (0x30 * ONES);
    // a byte above 9 sets its top bit; a carry only reaches bytes behind the first such byte
    let others = (digits.wrapping_add(0x76 * ONES) | digits) & (0x80 * ONES);
    let count = others.trailing_zeros() / 8;
    // the digits moved to the end, with zeros before them
    let moved = digits.checked_shl(64 - 8 * count).unwrap_or(0);
    let pairs = moved.wrapping_mul(10).wrapping_add(moved >> 8);
    const EVERY_FOURTH: u64 = 0x0000_00FF_0000_00FF;
    let outer = (pairs & EVERY_FOURTH).wrapping_mul(0x000F_4240_0000_0064);
    let inner = ((pairs >> 16) & EVERY_FOURTH).wrapping_mul(0x0000_2710_0000_0001);
    (outer.wrapping_add(inner) >> 32, count as usize)
}

/// Takes leading digits into `mantissa`; what is left, and how many digits there were.
#[inline(always)]
fn digits<'a>(mut rest: &'a [u8], mantissa: &mut u64) -> (&'a [u8], usize) {
    let before = rest.len();
    // eight bytes at a time while there are that many: lengths vary, and branches on them cost most
    while let Some((chunk, _)) = rest.split_first_chunk::<8>() {
        let (value, count) = leading_digits(*chunk);
        let power = WHOLE_POWERS.get(count).copied().unwrap_or(1);
        *mantissa = mantissa.wrapping_mul(power).wrapping_add(value);
        rest = rest.get(count..).unwrap_or(&[]);
        if count < 8 {
            return (rest, before - rest.len());
        }
    }
    while let [byte, tail @ ..] = rest {
        let digit = byte.wrapping_sub(b'0');
        if digit > 9 {
            break;
        }
        *mantissa = mantissa.wrapping_mul(10).wrapping_add(u64::from(digit));
        rest = tail;
    }
    (rest, before - rest.len())
}

/// Eight digits, the first in the lowest byte, as a number.
#[inline(always)]
pub(super) fn eight_digits(digits: u64) -> u64 {
    let pairs = digits.wrapping_mul(10).wrapping_add(digits >> 8);
    const EVERY_FOURTH: u64 = 0x0000_00FF_0000_00FF;
    let outer = (pairs & EVERY_FOURTH).wrapping_mul(0x000F_4240_0000_0064);
    let inner = ((pairs >> 16) & EVERY_FOURTH).wrapping_mul(0x0000_2710_0000_0001);
    outer.wrapping_add(inner) >> 32
}

/// Takes a number from the start of `bytes`: sign, digits, `decimal`, digits, exponent.
///
/// Returns the number and what follows it; `None` when no digit comes first. Blanks are not skipped.
/// The value is the double nearest to the printed number (as `str::parse` gives), infinite when it
/// is too large for one.
#[inline(always)]
pub fn scan(bytes: &[u8], decimal: u8) -> Option<(Number, &[u8])> {
    let (negative, unsigned) = match bytes {
        [b'-', tail @ ..] => (true, tail),
        [b'+', tail @ ..] => (false, tail),
        _ => (false, bytes),
    };
    let mut mantissa = 0_u64;
    let (mut rest, whole) = digits(unsigned, &mut mantissa);
    let mut fraction = 0;
    if let [mark, tail @ ..] = rest
        && *mark == decimal
    {
        (rest, fraction) = digits(tail, &mut mantissa);
    }
    if whole + fraction == 0 {
        return None;
    }
    let mut exponent = -(fraction as i64);
    if let [b'e' | b'E', tail @ ..] = rest
        && let Some((power, after)) = power_of_ten(tail)
    {
        exponent = exponent.saturating_add(power);
        rest = after;
    }
    let exponent = exponent.clamp(-100_000, 100_000) as i32;
    if whole + fraction <= 19
        && mantissa <= EXACT
        && let Some(power) = POWERS.get(exponent.unsigned_abs() as usize)
    {
        let size = mantissa.cast_signed() as f64; // quicker than of one without a sign
        let size = if exponent < 0 {
            size / power
        } else {
            size * power
        };
        let value = if negative { -size } else { size };
        return Some((
            Number {
                value,
                mantissa,
                exponent,
            },
            rest,
        ));
    }
    let text = bytes.get(..bytes.len() - rest.len())?;
    let value = slow(text, decimal)?;
    let mantissa = if whole + fraction <= 19 {
        mantissa
    } else {
        u64::MAX
    };
    Some((
        Number {
            value,
            mantissa,
            exponent,
        },
        rest,
    ))
}

/// The exponent after `e`: a sign and digits, or nothing of the kind.
#[inline]
fn power_of_ten(bytes: &[u8]) -> Option<(i64, &[u8])> {
    let (negative, unsigned) = match bytes {
        [b'-', tail @ ..] => (true, tail),
        [b'+', tail @ ..] => (false, tail),
        _ => (false, bytes),
    };
    let mut power = 0_i64;
    let mut rest = unsigned;
    while let [byte @ b'0'..=b'9', tail @ ..] = rest {
        power = (power * 10 + i64::from(byte - b'0')).min(1_000_000);
        rest = tail;
    }
    (rest.len() < unsigned.len()).then_some((if negative { -power } else { power }, rest))
}

/// Many digits or a large exponent: the general algorithm.
#[cold]
fn slow(text: &[u8], decimal: u8) -> Option<f64> {
    if decimal == b'.' {
        return fast_float2::parse(text).ok();
    }
    let pointed: Vec<u8> = text
        .iter()
        .map(|byte| if *byte == decimal { b'.' } else { *byte })
        .collect();
    fast_float2::parse(pointed).ok()
}

/// The number that `text` is as a whole, blanks around it aside.
pub fn whole(text: &str, decimal: u8) -> Option<Number> {
    let (number, rest) = scan(text.trim().as_bytes(), decimal)?;
    rest.is_empty().then_some(number)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn same(text: &str) {
        let expected: f64 = text.parse().expect("a number");
        let (number, rest) = scan(text.as_bytes(), b'.').expect(text);
        assert!(rest.is_empty(), "{text}");
        assert_eq!(number.value.to_bits(), expected.to_bits(), "{text}");
        let comma = text.replace('.', ",");
        let (number, _) = scan(comma.as_bytes(), b',').expect("a number");
        assert_eq!(number.value.to_bits(), expected.to_bits(), "{comma}");
    }

    #[test]
    fn numbers_equal_those_of_the_standard_library() {
        for text in [
            "0",
            "-0",
            "-0.0",
            "+1",
            ".5",
            "5.",
            "1e5",
            "1E-5",
            "1.7976931348623157e308",
            "1e400",
            "2.2250738585072011e-308",
            "4.9e-324",
            "1e-400",
            "9007199254740993",
            "0.1",
            "123.456e-7",
            "1234567890123456789",
            "12345678901234567890123.5",
            "9007199254740992e22",
            "0.000000000000000000000000001",
            "1e23",
            "8.5e-23",
            "1e99999999999999999999",
        ] {
            same(text);
        }
    }

    #[test]
    fn what_is_no_number_is_none_and_what_follows_is_left() {
        for text in ["", "-", "+", ".", "e5", "nan", "--1", " 1"] {
            assert!(scan(text.as_bytes(), b'.').is_none(), "{text}");
        }
        let (number, rest) = scan(b"1.5ex", b'.').expect("a number");
        assert!((number.value - 1.5).abs() < 1e-15);
        assert_eq!(rest, b"ex");
        assert_eq!(scan(b"1,5;2", b',').map(|(_, r)| r), Some(b";2".as_slice()));
    }

    #[test]
    fn single_precision_is_taken_only_where_it_keeps_the_digits() {
        let fits = |text: &str| whole(text, b'.').is_some_and(|n| n.fits_single());
        assert!(fits("13.1415") && fits("-0.04") && fits("0") && fits("16777216"));
        assert!(fits("2.50000000") && fits("1.677721"));
        assert!(!fits("13.1415926") && !fits("0.123456789") && !fits("1e-44") && !fits("1e39"));
    }

    proptest! {
        #[test]
        fn any_double_printed_comes_back(bits in any::<u64>(), form in 0..3) {
            let value = f64::from_bits(bits);
            prop_assume!(value.is_finite());
            same(&match form {
                0 => format!("{value}"),
                1 => format!("{value:e}"),
                _ => format!("{value:.9e}"),
            });
        }

        #[test]
        fn any_decimal_is_rounded_correctly(text in "[+-]?[0-9]{1,25}(\\.[0-9]{0,25})?([eE][+-]?[0-9]{1,3})?") {
            same(&text);
        }

        #[test]
        fn short_decimals_keep_a_tenth_of_a_digit_in_single(w in 0_u64..20_000_000, e in -12_i32..6) {
            let number = whole(&format!("{w}e{e}"), b'.').expect("a number");
            if number.fits_single() {
                let error = (f64::from(number.value as f32) - number.value).abs();
                prop_assert!(error <= 0.1 * 10_f64.powi(e));
            }
        }
    }
}
