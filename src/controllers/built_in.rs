//! The profile files that come with the program.

macro_rules! built_in_file {
    ($name:literal) => {
        (
            $name,
            include_str!(concat!("../../assets/controllers/", $name)),
        )
    };
}

/// Name and text of each file in `assets/controllers/`; a test compares the list with the folder.
pub(super) const PROFILE_FILES: &[(&str, &str)] = &[
    built_in_file!("384x-onsemi-a.toml"),
    built_in_file!("384x-onsemi-b.toml"),
    built_in_file!("384x-onsemi-original.toml"),
    built_in_file!("384x-st-b.toml"),
    built_in_file!("384x-st-original.toml"),
    built_in_file!("384x-ti-a.toml"),
    built_in_file!("384x-ti-original.toml"),
    built_in_file!("384x-utc-b.toml"),
    built_in_file!("ap384x-anachip.toml"),
    built_in_file!("ap384x-bcd-c.toml"),
    built_in_file!("cs384x-cherry-b.toml"),
    built_in_file!("gm384x-gamma-a.toml"),
    built_in_file!("ka384x-fairchild-b.toml"),
    built_in_file!("sg384x-linfinity.toml"),
    built_in_file!("tl384x-ti-b.toml"),
    built_in_file!("tl384x-ti.toml"),
];

/// Where makers, or two pages of one maker, contradict each other.
pub(super) const DISAGREEMENTS: (&str, &str) = built_in_file!("disagreements.toml");

/// A commented profile to copy from.
pub(super) const TEMPLATE: &str = include_str!("template.toml");
