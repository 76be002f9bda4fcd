//! Where the window keeps remembered layouts.

use std::path::PathBuf;

/// The folder of remembered layouts on this desktop: `firstpulse/layouts` where settings are kept.
/// `None` where the desktop names no such place: nothing is remembered then.
pub fn layouts_folder() -> Option<PathBuf> {
    Some(settings_folder()?.join("layouts"))
}

/// Where the program keeps its settings on this desktop: `firstpulse`; `None` where it names no such
/// place.
pub fn settings_folder() -> Option<PathBuf> {
    let named = |name: &str| std::env::var_os(name).map(PathBuf::from);
    Some(settings(named)?.join("firstpulse"))
}

/// Where settings are kept; only whole paths count, as the XDG base directory specification says.
fn settings(named: impl Fn(&str) -> Option<PathBuf>) -> Option<PathBuf> {
    let whole = |name: &str| named(name).filter(|path| path.is_absolute());
    if cfg!(windows) {
        whole("APPDATA")
    } else if cfg!(target_os = "macos") {
        whole("HOME").map(|home| home.join("Library").join("Application Support"))
    } else {
        whole("XDG_CONFIG_HOME").or_else(|| whole("HOME").map(|home| home.join(".config")))
    }
}

#[cfg(all(test, target_os = "linux"))]
mod tests {
    use super::*;

    #[test]
    fn settings_are_where_the_desktop_says_else_under_home() {
        let with = |config: &'static str, home: &'static str| {
            settings(move |name| match name {
                "XDG_CONFIG_HOME" => (!config.is_empty()).then(|| config.into()),
                "HOME" => (!home.is_empty()).then(|| home.into()),
                _ => None,
            })
        };
        assert_eq!(with("/a/b", "/h"), Some("/a/b".into()));
        assert_eq!(with("", "/h"), Some("/h/.config".into()));
        assert_eq!(with("not/whole", "/h"), Some("/h/.config".into()));
        assert_eq!(with("", ""), None);
    }
}
