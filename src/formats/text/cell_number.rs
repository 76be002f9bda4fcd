//! Numbers whose first and last byte are known: read without looking for their end.

use super::number::{EXACT, Number, POWERS, eight_digits, scan};

/// The last so many bytes of sixteen.
const LAST: [u128; 17] = {
    let mut last = [0; 17];
    let mut count = 1;
    while count <= 16 {
        last[count] = u128::MAX << (8 * (16 - count));
        count += 1;
    }
    last
};

/// Up to sixteen digits with perhaps a `decimal` among them, as a whole number and how many come
/// after the mark. `None` for anything else, and where less than sixteen bytes of `text` come before
/// `end`.
#[inline(always)]
fn unsigned(text: &[u8], start: usize, end: usize, decimal: u8) -> Option<(u64, usize)> {
    const ONES: u128 = 0x0101_0101_0101_0101_0101_0101_0101_0101;
    let (before, _) = text.split_at_checked(end)?;
    let chunk = before.last_chunk::<16>()?;
    let length = end.checked_sub(start)?;
    let digits = (u128::from_le_bytes(*chunk) ^ (0x30 * ONES)) & LAST.get(length)?;
    // a byte above 9 sets its top bit; a carry only reaches bytes behind the first such byte
    let others = (digits.wrapping_add(0x76 * ONES) | digits) & (0x80 * ONES);
    let (digits, fraction) = if others == 0 {
        if length == 0 {
            return None;
        }
        (digits, 0)
    } else {
        let fraction = (others.leading_zeros() / 8) as usize;
        let mark = chunk.get(15_usize.wrapping_sub(fraction))?;
        if others & (others - 1) != 0 || *mark != decimal || length < 2 {
            return None;
        }
        let after = *LAST.get(fraction)?;
        let before = !LAST.get(fraction + 1)?;
        ((digits & after) | ((digits & before) << 8), fraction)
    };
    let mut mantissa = eight_digits((digits >> 64) as u64);
    let first = digits as u64;
    if first != 0 {
        mantissa += eight_digits(first) * 100_000_000;
    }
    Some((mantissa, fraction))
}

/// The last so many bytes of eight.
const TAIL: [u64; 9] = {
    let mut tail = [0; 9];
    let mut count = 1;
    while count <= 8 {
        tail[count] = u64::MAX << (8 * (8 - count));
        count += 1;
    }
    tail
};

/// A way of writing that many cells of a column share: up to eight digits, always so many of them
/// after the decimal mark, so that nothing need be searched for.
#[derive(Debug, Clone, Copy)]
pub struct Shape {
    fraction: usize,
    /// What makes a cell's last eight bytes into digits, the mark into a zero.
    pattern: u64,
    after: u64,
    before: u64,
    scale: f64,
}

impl Shape {
    /// With so many decimals; `None` when there are more than seven.
    pub fn new(fraction: usize, decimal: u8) -> Option<Self> {
        let zeros = u64::from_le_bytes([b'0'; 8]);
        let after = *TAIL.get(fraction).filter(|_| fraction < 8)?;
        let (before, pattern) = if fraction == 0 {
            (0, zeros)
        } else {
            let place = 8 * (7 - fraction);
            let before = !TAIL.get(fraction + 1)?;
            (before, zeros ^ (u64::from(b'0' ^ decimal) << place))
        };
        Some(Self {
            fraction,
            pattern,
            after: if fraction == 0 { u64::MAX } else { after },
            before,
            scale: *POWERS.get(fraction)?,
        })
    }

    /// The shape in which `number` was perhaps written.
    #[cold]
    pub fn of(number: &Number, decimal: u8) -> Option<Self> {
        let fraction = usize::try_from(-number.exponent).ok()?;
        Self::new(fraction, decimal)
    }

    /// The number of a cell, if it has this shape.
    #[inline(always)]
    pub fn read(&self, text: &[u8], start: usize, end: usize) -> Option<Number> {
        let negative = text.get(start) == Some(&b'-');
        let length = end.wrapping_sub(start + usize::from(negative));
        let marked = usize::from(self.fraction > 0);
        let whole = length.wrapping_sub(self.fraction + marked);
        // a digit before the mark, eight in all
        if whole.wrapping_sub(1) >= 8 - self.fraction {
            return None;
        }
        let (before, _) = text.split_at_checked(end)?;
        let chunk = u128::from_le_bytes(*before.last_chunk::<16>()?);
        let (far, near) = (chunk as u64 >> 56, (chunk >> 64) as u64);
        let near = (near ^ self.pattern) & TAIL.get(length).copied().unwrap_or(u64::MAX);
        let far = if length > 8 { far ^ 0x30 } else { 0 };
        const ONES: u64 = 0x0101_0101_0101_0101;
        let others = (near.wrapping_add(0x76 * ONES) | near) | ((far + 0x76) | far);
        let marks = near & self.mark();
        if others & (0x80 * ONES) != 0 || marks != 0 {
            return None;
        }
        let digits = (near & self.after) | ((near & self.before) << 8) | far;
        let mantissa = eight_digits(digits);
        let size = mantissa.cast_signed() as f64 / self.scale;
        Some(Number {
            value: if negative { -size } else { size },
            mantissa,
            exponent: -(self.fraction as i32),
        })
    }

    /// The place of the decimal mark.
    #[inline(always)]
    fn mark(&self) -> u64 {
        !(self.after | self.before)
    }
}

/// A sign, a mark and two digits of exponent at the end of a cell: `e-05`; 0 where there are none, and
/// how many bytes they take.
#[inline(always)]
fn short_exponent(text: &[u8], end: usize) -> (i32, usize) {
    if let Some((before, _)) = text.split_at_checked(end)
        && let Some(
            [
                b'e' | b'E',
                sign @ (b'+' | b'-'),
                tens @ b'0'..=b'9',
                ones @ b'0'..=b'9',
            ],
        ) = before.last_chunk::<4>()
    {
        let power = i32::from(tens - b'0') * 10 + i32::from(ones - b'0');
        return (if *sign == b'-' { -power } else { power }, 4);
    }
    (0, 0)
}

/// The number that the cell from `start` to `end` of `text` is as a whole, blanks around it aside.
/// `None` for anything else, an infinite value included.
#[inline(always)]
pub fn in_cell(text: &[u8], start: usize, end: usize, decimal: u8) -> Option<Number> {
    let negative = text.get(start) == Some(&b'-');
    let (power, tail) = short_exponent(text, end);
    let from = start + usize::from(negative);
    if let Some((mantissa, fraction)) = unsigned(text, from, end.wrapping_sub(tail), decimal)
        && mantissa <= EXACT
    {
        let exponent = power - fraction as i32;
        if let Some(scale) = POWERS.get(exponent.unsigned_abs() as usize) {
            let size = mantissa.cast_signed() as f64; // quicker than of one without a sign
            let size = if exponent <= 0 {
                size / scale
            } else {
                size * scale
            };
            return Some(Number {
                value: if negative { -size } else { size },
                mantissa,
                exponent,
            });
        }
    }
    odd_in_cell(text.get(start..end)?, decimal)
}

/// The same, for cells that are written in an unusual way.
#[inline(never)]
fn odd_in_cell(cell: &[u8], decimal: u8) -> Option<Number> {
    let blank = |b: &u8| *b == b' ';
    let start = cell.iter().position(|b| !blank(b))?;
    let (number, rest) = scan(cell.get(start..)?, decimal)?;
    (rest.iter().all(blank) && number.value.is_finite()).then_some(number)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn a_cell_reads_as_its_text_alone(
            cell in "[+-]?[0-9]{0,12}(\\.[0-9]{0,12})?([eE][+-][0-9]{1,3})?|[ -~]{0,6}| ?-?[0-9]{1,3}\\.[0-9]{4} ?",
            before in "[0-9,.-]{0,20}",
        ) {
            let text = format!("{before},{cell},7");
            let start = before.len() + 1;
            let found = in_cell(text.as_bytes(), start, start + cell.len(), b'.');
            let bare = cell.trim_matches(' ');
            let expected = scan(bare.as_bytes(), b'.')
                .filter(|(number, rest)| rest.is_empty() && number.value.is_finite())
                .map(|(number, _)| number);
            prop_assert_eq!(found, expected);
            for fraction in 0..8 {
                let shape = Shape::new(fraction, b'.').expect("few decimals");
                if let Some(number) = shape.read(text.as_bytes(), start, start + cell.len()) {
                    prop_assert_eq!(Some(number), expected);
                }
            }
            prop_assert_eq!(
                found.map(|n| n.value.to_bits()),
                expected.map(|n| n.value.to_bits())
            );
        }

        #[test]
        fn a_cell_of_a_shape_is_read_in_it(
            whole in 0_u32..1_000_000, fraction in 0_usize..8, part in any::<u32>(), sign in "-?", before in "[0-9]{16}",
        ) {
            let part = format!("{part:010}");
            let decimals = part.get(..fraction).expect("digits");
            let whole = whole % 10_u32.pow(8 - fraction as u32);
            let cell = if fraction == 0 { format!("{sign}{whole}") } else { format!("{sign}{whole},{decimals}") };
            let text = format!("{before};{cell};");
            let shape = Shape::new(fraction, b',').expect("few decimals");
            let found = shape.read(text.as_bytes(), 17, 17 + cell.len()).expect("of this shape");
            let expected: f64 = cell.replace(',', ".").parse().expect("a number");
            prop_assert_eq!(found.value.to_bits(), expected.to_bits());
            prop_assert_eq!(Some(found), in_cell(text.as_bytes(), 17, 17 + cell.len(), b','));
        }
    }
}
