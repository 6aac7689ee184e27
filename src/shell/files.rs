//! Files beside the record, written whole or not at all; photographs, named by what is in them.

use std::fs;
use std::path::Path;

use miette::{Context, IntoDiagnostic};
use sha2::{Digest, Sha256};

use super::hexadecimal::hex;
use super::store::Store;

/// Writes a file whole or not at all: under another name first, then moved.
///
/// # Errors
/// A file that cannot be written.
pub fn write_whole(path: &Path, bytes: impl AsRef<[u8]>) -> miette::Result<()> {
    let mut part = path.as_os_str().to_owned();
    part.push(".part");
    fs::write(&part, bytes)
        .and_then(|()| fs::rename(&part, path))
        .into_diagnostic()
        .wrap_err_with(|| format!("writing {}", path.display()))
}

/// Copies a file beside the record; its new name, and the SHA-256 of what is in it.
pub fn keep(store: &Store, path: &Path) -> miette::Result<(String, String)> {
    let bytes = fs::read(path).into_diagnostic().wrap_err_with(|| format!("reading {}", path.display()))?;
    let extension = path.extension().and_then(|ending| ending.to_str()).unwrap_or("bin");
    put(store, &bytes, extension)
}

/// Puts bytes beside the record under the name of their SHA-256.
pub fn put(store: &Store, bytes: &[u8], extension: &str) -> miette::Result<(String, String)> {
    let folder = store.files();
    let failed = || format!("keeping a file in {}", folder.display());
    fs::create_dir_all(&folder).into_diagnostic().wrap_err_with(failed)?;
    let sha256 = hex(&Sha256::digest(bytes));
    let ending: String = extension.chars().filter(char::is_ascii_alphanumeric).take(8).collect();
    let name = format!("{sha256}.{}", ending.to_lowercase());
    write_whole(&folder.join(&name), bytes)?;
    Ok((name, sha256))
}
