//! The jobs that were open last, one folder a line in the desktop's settings.

use std::path::{Path, PathBuf};

use crate::app::layouts_folder::settings_folder;

/// Most jobs that are listed.
const MOST: usize = 12;
/// Most bytes of the list that are read.
const MOST_BYTES: u64 = 64 * 1024;

fn list() -> Option<PathBuf> {
    Some(settings_folder()?.join("jobs.txt"))
}

/// The folders, the one that was open last first; those that hold no record any more are left out. Empty
/// where the desktop keeps no settings.
pub fn recent() -> Vec<PathBuf> {
    list().map_or_else(Vec::new, |path| read(&path))
}

fn read(path: &Path) -> Vec<PathBuf> {
    let small = std::fs::metadata(path).is_ok_and(|meta| meta.len() <= MOST_BYTES);
    let text = small.then(|| std::fs::read_to_string(path).ok()).flatten();
    let text = text.unwrap_or_default();
    let folders = text.lines().map(PathBuf::from);
    let jobs = folders.filter(|folder| crate::job::is_job(folder));
    jobs.take(MOST).collect()
}

/// Puts a folder at the head of the list. That the list can't be kept is no reason to stop anything.
pub fn remember(folder: &Path) {
    if let Some(path) = list() {
        drop(keep(&path, folder));
    }
}

fn keep(path: &Path, folder: &Path) -> std::io::Result<()> {
    let whole = std::fs::canonicalize(folder)?;
    let mut all = vec![whole.clone()];
    all.extend(read(path).into_iter().filter(|known| *known != whole));
    all.truncate(MOST);
    let lines: Vec<String> = all
        .iter()
        .map(|folder| folder.to_string_lossy().into_owned())
        .collect();
    if let Some(around) = path.parent() {
        std::fs::create_dir_all(around)?;
    }
    let new = path.with_extension("new");
    std::fs::write(&new, lines.join("\n") + "\n")?;
    std::fs::rename(new, path)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_last_job_stands_first_once_and_what_is_gone_is_left_out() {
        let place = tempfile::tempdir().unwrap();
        let list = place.path().join("settings").join("jobs.txt");
        let job = |name: &str| {
            let folder = place.path().join(name);
            std::fs::create_dir_all(&folder).unwrap();
            std::fs::write(folder.join(crate::job::RECORD), "schema = 1\n").unwrap();
            std::fs::canonicalize(folder).unwrap()
        };
        let (a, b) = (job("a"), job("b"));
        assert_eq!(read(&list), Vec::<PathBuf>::new());
        for folder in [&a, &b, &a] {
            keep(&list, folder).unwrap();
        }
        assert_eq!(read(&list), [a.clone(), b.clone()]);
        std::fs::remove_file(b.join(crate::job::RECORD)).unwrap();
        assert_eq!(read(&list), [a]);
        assert!(keep(&list, &place.path().join("nowhere")).is_err());
    }
}
