//! An example inspection for tests.
