//! A drawing of a part's pins in text.

use std::collections::BTreeMap;

/// The part from above, pin 1 at the top left, numbers running down the left and up the right.
/// Empty for no pins.
pub(super) fn pinout(pins: &BTreeMap<u8, String>) -> Vec<String> {
    let Some(most) = pins.keys().max().copied() else {
        return Vec::new();
    };
    let rows = most.div_ceil(2);
    let name = |pin: u8| pins.get(&pin).map_or("", String::as_str);
    let left = (1..=rows)
        .map(|pin| name(pin).chars().count())
        .max()
        .unwrap_or(0);
    let mut lines = vec![format!("{:left$}      +---( )---+", "")];
    for row in 1..=rows {
        let across = 2 * rows + 1 - row;
        lines.push(format!(
            "{:>left$}  {row:>2} =|         |= {across:<2}  {}",
            name(row),
            name(across)
        ));
    }
    lines.push(format!("{:left$}      +---------+", ""));
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn eight_pins_run_around_the_part() {
        let names = [
            "COMP", "VFB", "ISENSE", "RT/CT", "GROUND", "OUTPUT", "VCC", "VREF",
        ];
        let pins = names
            .iter()
            .zip(1..)
            .map(|(n, p)| (p, (*n).to_owned()))
            .collect();
        insta::assert_snapshot!(pinout(&pins).join("\n"), @r"
                    +---( )---+
          COMP   1 =|         |= 8   VREF
           VFB   2 =|         |= 7   VCC
        ISENSE   3 =|         |= 6   OUTPUT
         RT/CT   4 =|         |= 5   GROUND
                    +---------+
        ");
    }
}
