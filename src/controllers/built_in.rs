//! The profile files that come with the program; `build.rs` makes the list from the folder.

/// Name and text of each profile file in `assets/controllers/`, in order of name.
pub(super) const PROFILE_FILES: &[(&str, &str)] =
    include!(concat!(env!("OUT_DIR"), "/profile_files.rs"));

/// Where makers, or two pages of one maker, contradict each other, and what was not read.
pub(super) const DISAGREEMENTS: (&str, &str) = (
    "disagreements.toml",
    include_str!("../../assets/controllers/disagreements.toml"),
);

/// A commented profile to copy from.
pub(super) const TEMPLATE: &str = include_str!("template.toml");
