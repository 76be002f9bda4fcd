//! The modelled unit behind a door that the faces may use.

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
    // STAND-IN: to be filled from the model's own list
    Vec::new()
}

/// The shots of a modelled unit with this fault, the same for the same seed.
///
/// # Errors
/// When the cause is not known, or the model refuses.
pub fn simulate(cause: &str, seed: u64) -> Result<Vec<SimulatedFile>, String> {
    // STAND-IN: to be filled from the model's shots
    let _ = seed;
    Err(format!("the model can't do '{cause}' in this build"))
}
