//! The modelled unit behind a door that the faces may use.

use crate::startup::{faults::Cause, shots};

/// One shot of a modelled unit, ready to be written.
#[derive(Debug, Clone, PartialEq)]
pub struct SimulatedFile {
    /// Name without folder and ending; fit for a file name.
    pub name: String,
    /// The capture, as the text of a CSV file.
    pub csv: String,
    /// What is true of it, as the text of a JSON object.
    pub truth_json: String,
}

/// Ids of the causes that can be simulated.
pub fn causes() -> Vec<&'static str> {
    Cause::ALL.iter().map(|cause| cause.id).collect()
}

/// The shots of a modelled unit with this fault, the same for the same seed.
///
/// # Errors
/// When the cause is not known (the message lists those that are), or the model refuses.
pub fn simulate(cause: &str, seed: u64) -> Result<Vec<SimulatedFile>, String> {
    let shots = shots::simulate(cause, seed).map_err(|error| error.to_string())?;
    Ok(shots
        .iter()
        .map(|shot| SimulatedFile {
            name: shot.name.clone(),
            csv: shot.to_csv(),
            truth_json: format!("{:#}\n", shot.truth()),
        })
        .collect())
}
