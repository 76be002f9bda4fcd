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

/// As [`budget`], for a marking that is not trusted: with all parts of its class, so that the widest limits
/// apply.
///
/// # Errors
/// As [`budget`].
pub fn budget_of_class(
    request: &BudgetRequest,
    marking: &str,
    library: &Library,
) -> Result<Budget, ControllerError> {
    let found = library.find_class(marking)?;
    Ok(crate::startup::budget::budget(request, &found.profiles))
}
