//! Room under construction.
