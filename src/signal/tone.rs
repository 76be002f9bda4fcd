//! stub
use crate::data::Tone;
/// stub
pub fn find(_values: &[f64]) -> Option<Tone> {
    None
}
