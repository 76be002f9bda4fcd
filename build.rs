//! Embeds every profile file of `assets/controllers/`, so that a new one needs no Rust.

use std::fmt::Write as _;
use std::path::Path;
use std::{env, fs, io};

/// Contradictions and gaps, which are no profiles.
const DISAGREEMENTS: &str = "disagreements.toml";

fn main() -> io::Result<()> {
    let root = env::var("CARGO_MANIFEST_DIR").map_err(io::Error::other)?;
    let folder = Path::new(&root).join("assets/controllers");
    println!("cargo:rerun-if-changed={}", folder.display());
    let mut names = Vec::new();
    for entry in fs::read_dir(&folder)? {
        let name = entry?.file_name().to_string_lossy().into_owned();
        if name.ends_with(".toml") && name != DISAGREEMENTS {
            names.push(name);
        }
    }
    names.sort();
    let mut list = String::from("&[\n");
    for name in names {
        let path = folder.join(&name);
        println!("cargo:rerun-if-changed={}", path.display());
        writeln!(
            list,
            "({name:?}, include_str!({:?})),",
            path.display().to_string()
        )
        .map_err(io::Error::other)?;
    }
    list.push_str("]\n");
    let out = env::var("OUT_DIR").map_err(io::Error::other)?;
    fs::write(Path::new(&out).join("profile_files.rs"), list)
}
