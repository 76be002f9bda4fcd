//! SHA-256 of files (FIPS 180-4), as 64 hexadecimal digits.

use std::fs::File;
use std::io::{self, Read};
use std::path::Path;

use sha2::{Digest, Sha256};

/// Bytes that are taken at once.
const BLOCK: usize = 64 * 1024;

/// The hash of bytes.
pub(super) fn of_bytes(bytes: &[u8]) -> String {
    hexadecimal(Sha256::digest(bytes).as_slice())
}

/// The hash of a file.
///
/// # Errors
/// What the system says.
pub(super) fn of_file(path: &Path) -> io::Result<String> {
    let mut file = File::open(path)?;
    let mut hash = Sha256::new();
    let mut block = vec![0; BLOCK];
    loop {
        match file.read(&mut block) {
            Ok(0) => return Ok(hexadecimal(hash.finalize().as_slice())),
            Ok(count) => hash.update(&block[..count]),
            Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
            Err(error) => return Err(error),
        }
    }
}

fn hexadecimal(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

#[cfg(test)]
mod tests {
    /// The one-block example of FIPS 180-4 (NIST's example values for SHA-256): "abc".
    #[test]
    fn the_published_example_has_its_published_hash() {
        let published = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
        assert_eq!(super::of_bytes(b"abc"), published);
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("abc");
        std::fs::write(&path, b"abc").unwrap();
        assert_eq!(super::of_file(&path).unwrap(), published);
    }
}
