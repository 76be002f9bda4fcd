//! The record of a job on disk: what was wrong, what was changed, before and after.
//!
//! Nothing is kept yet. This room will own the only files that firstpulse writes on its own account.
