//! Any text as a profile file: taken or refused with its file named, never a panic.
#![no_main]

use firstpulse::controllers::Library;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| {
    let Ok(library) = Library::built_in() else {
        return;
    };
    match library.with_file("fuzz.toml", text) {
        Ok(own) => assert!(own.profiles().len() >= library.profiles().len()),
        Err(error) => assert!(error.to_string().contains("fuzz.toml")),
    }
});
