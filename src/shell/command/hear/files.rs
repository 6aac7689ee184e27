//! The sound files under the names given: files as they are, folders wholly, in the order of their names.

use std::path::{Path, PathBuf};

use miette::{IntoDiagnostic, WrapErr, miette};

use crate::shell::sound::ENDINGS;

/// Folders inside folders deeper than this are not looked into.
const DEEPEST: usize = 16;

/// The files named, and the sound files in the folders named.
pub fn under(named: &[PathBuf]) -> miette::Result<Vec<PathBuf>> {
    let mut files = Vec::new();
    for path in named {
        if path.is_dir() {
            let before = files.len();
            walk(path, DEEPEST, &mut files)?;
            if files.len() == before {
                return Err(miette!(
                    help = "name a folder with .wav or .flac files",
                    "{} holds no sound file",
                    path.display()
                ));
            }
        } else {
            files.push(path.clone());
        }
    }
    Ok(files)
}

fn walk(folder: &Path, deeper: usize, files: &mut Vec<PathBuf>) -> miette::Result<()> {
    let inside = std::fs::read_dir(folder).and_then(Iterator::collect::<Result<Vec<_>, _>>);
    let inside =
        inside.into_diagnostic().wrap_err_with(|| format!("cannot look into {}", folder.display()))?;
    let mut paths: Vec<PathBuf> = inside.iter().map(std::fs::DirEntry::path).collect();
    paths.sort();
    for path in paths {
        let ending = path.extension().map(|ending| ending.to_string_lossy().to_lowercase());
        if path.is_dir() && deeper > 0 {
            walk(&path, deeper - 1, files)?;
        } else if ending.is_some_and(|ending| ENDINGS.contains(&ending.as_str())) {
            files.push(path);
        }
    }
    Ok(())
}
