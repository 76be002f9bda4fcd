use super::*;
use crate::data::Role;
use crate::data::drawing::{Axis, Line, Reach};
use crate::data::ticks::Tick;

fn drawn(title: &str, reaches: Vec<Reach>) -> Drawing {
    let axis = |ends| Axis {
        title: "axis".to_owned(),
        ends,
        ticks: vec![Tick {
            at: ends.0,
            text: "first".to_owned(),
        }],
    };
    let line = Line {
        reaches,
        broken: false,
    };
    Drawing {
        title: title.to_owned(),
        described: "described".to_owned(),
        across: axis((0.0, 10.0)),
        bands: Vec::new(),
        uprights: Vec::new(),
        panels: vec![Panel {
            title: "VCC (7)".to_owned(),
            note: "CH1".to_owned(),
            role: Role::Vcc,
            up: axis((0.0, 20.0)),
            bands: Vec::new(),
            lines: vec![line],
            uprights: Vec::new(),
        }],
    }
}

const PICTURE: Picture = Picture {
    width: 700.0,
    height: 300.0,
    look: Look::Light,
};

#[test]
fn a_title_can_not_leave_its_element() {
    let text = svg(
        &drawn("</title><script>x</script>", Vec::new()),
        &PICTURE,
        "a",
    );
    assert!(!text.contains("<script") && text.contains("&lt;script&gt;"));
    assert!(text.contains("<title id=\"a-t\">") && text.contains("<desc id=\"a-d\">"));
}

#[test]
fn a_line_is_broken_where_nothing_is_known_and_covers_what_is() {
    let reach = |at: f64, low: f64, high: f64| Reach { at, low, high };
    let gap = reach(5.0, f64::NAN, f64::NAN);
    let path = course(
        &[
            reach(0.0, 1.0, 2.0),
            reach(1.0, 5.0, 9.0),
            gap,
            reach(6.0, 3.0, 3.0),
        ],
        |x| 10.0 * x,
        |y| 100.0 - 10.0 * y,
    );
    // from 2 up to 5 and 9; then a new beginning with the one point at 3
    assert_eq!(path, "M0.0 90.0L0.0 80.0L10.0 50.0L10.0 10.0M60.0 70.0");
}
