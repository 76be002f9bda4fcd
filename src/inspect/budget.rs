//! The start-up budget behind a door that the faces may use.

use crate::controllers::{ControllerError, Library};
use crate::data::budget::{Budget, BudgetRequest};

/// What the start-up parts allow, with the controller of this marking where one is told.
///
/// # Errors
/// When the marking is not known; the error names the nearest.
pub fn budget(
    request: &BudgetRequest,
    marking: Option<&str>,
    library: &Library,
) -> Result<Budget, ControllerError> {
    let candidates = match marking {
        Some(marking) => library.lookup(marking)?,
        None => Vec::new(),
    };
    Ok(crate::startup::budget::budget(request, &candidates))
}
