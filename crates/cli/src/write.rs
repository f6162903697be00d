//! Writing the folder of a plan, whole or not at all: every file is first written beside its place under a temporary
//! name and synced, and only when all are there are they renamed. Files of an earlier plan that this one does not
//! have are taken away, so that a folder never holds sheets of two plans.

use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use tempfile::NamedTempFile;

use crate::report::{Failure, Message, Ours};

/// Every name that the folder of a comparison may hold.
pub(crate) const COMPARISON: [&str; 3] = ["compare.html", "compare.csv", "compare.json"];

/// Every name that the folder of a replan may hold.
pub(crate) const REPLAN: [&str; 7] = [
    "replan.html",
    "day.html",
    "labels.html",
    "day.json",
    "supplement-scenario.json",
    "supplement.json",
    "replan.json",
];

/// What stands beside a plan besides its log.
pub(crate) const TALLY: [&str; 1] = ["tally.html"];

/// Every name that a plan's folder may hold. `plan.json` is the last to be renamed: where it is, all is.
pub(crate) const NAMES: [&str; 10] = [
    "scenario.json",
    "sheets.html",
    "sheets-left-handed.html",
    "shopping.csv",
    "strips.csv",
    "layups.csv",
    "day.html",
    "labels.html",
    "day.json",
    "plan.json",
];

/// A file to be written: one of the names, and its text.
pub(crate) type Text = (&'static str, String);

/// Looks whether a plan could be written to this folder, before hours are spent on making one. Creates nothing.
///
/// # Errors
/// The folder is a file, may not be written, or holds a folder where a file must go.
pub(crate) fn possible(folder: &Path, names: &[&str]) -> Result<(), Failure> {
    for name in names {
        replaceable(&folder.join(name))?;
    }
    let nearest = nearest_existing(folder);
    if !nearest.is_dir() {
        let problem = "this is a file; the plan needs a folder of that name";
        return Err(Failure::bad(
            Message::new(Ours::CannotWrite, problem).about(&nearest).hint("name another folder with --out"),
        ));
    }
    // A file without a name, gone when it is dropped: the only sure way to know.
    tempfile::tempfile_in(&nearest).map(drop).map_err(|error| cannot(&nearest, &error))
}

/// Writes the files of a plan and takes away those of an earlier plan that it does not have. Answers the names taken
/// away.
///
/// # Errors
/// Something cannot be written. Nothing is left half written; if a rename fails after others have succeeded, the
/// message says which files are new.
pub(crate) fn folder(
    folder: &Path,
    names: &[&'static str],
    texts: &[Text],
) -> Result<Vec<&'static str>, Failure> {
    possible(folder, names)?;
    let created: Vec<&Path> = folder.ancestors().take_while(|above| !above.exists()).collect();
    let staged = stage_all(folder, names, texts).inspect_err(|_| {
        // Nothing was done, so no empty folders stay behind either. One that is not empty is not ours and stays.
        created.iter().for_each(|made| drop(fs::remove_dir(made)));
    })?;
    let taken_away = take_away(folder, names, |name| !texts.iter().any(|(wanted, _)| *wanted == name))?;
    let mut done: Vec<&str> = Vec::new();
    for (name, file) in staged {
        if let Err(error) = file.persist(folder.join(name)) {
            return Err(half_way(&folder.join(name), &error.error, &done));
        }
        done.push(name);
    }
    sync(folder);
    Ok(taken_away)
}

/// The folder, with a synced temporary file for every text in the order of the names.
fn stage_all(
    folder: &Path,
    names: &[&'static str],
    texts: &[Text],
) -> Result<Vec<(&'static str, NamedTempFile)>, Failure> {
    fs::create_dir_all(folder).map_err(|error| cannot(folder, &error))?;
    let mut staged = Vec::new();
    for &name in names {
        if let Some((_, text)) = texts.iter().find(|(wanted, _)| *wanted == name) {
            let file = stage(folder, text).map_err(|error| cannot(&folder.join(name), &error))?;
            staged.push((name, file));
        }
    }
    Ok(staged)
}

/// A synced temporary file in the folder.
fn stage(folder: &Path, text: &str) -> io::Result<NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(".patchlay-").suffix(".tmp");
    // Temporary files are private; these become ordinary files and so get what ordinary files get.
    #[cfg(unix)]
    builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
    let mut file = builder.tempfile_in(folder)?;
    file.write_all(text.as_bytes())?;
    file.as_file().sync_all()?;
    Ok(file)
}

/// Removes the files among the names that are `unwanted`.
fn take_away(
    folder: &Path,
    names: &[&'static str],
    unwanted: impl Fn(&str) -> bool,
) -> Result<Vec<&'static str>, Failure> {
    let mut taken = Vec::new();
    for &name in names.iter().filter(|name| unwanted(name)) {
        match fs::remove_file(folder.join(name)) {
            Ok(()) => taken.push(name),
            Err(error) if error.kind() == io::ErrorKind::NotFound => {}
            Err(error) => return Err(cannot(&folder.join(name), &error)),
        }
    }
    Ok(taken)
}

/// The renames reach the disk with the folder. Not every system lets a folder be synced, and by now the files are
/// in place, so a failure changes nothing.
fn sync(folder: &Path) {
    drop(File::open(folder).and_then(|folder| folder.sync_all()));
}

/// Whether a file of that name can be put there: nothing, or a file, but no folder.
fn replaceable(file: &Path) -> Result<(), Failure> {
    if file.is_dir() {
        let problem = "a folder stands where the plan's file must go";
        return Err(Failure::bad(
            Message::new(Ours::CannotWrite, problem)
                .about(file)
                .hint("move it away, or name another folder with --out"),
        ));
    }
    Ok(())
}

/// The folder itself if it exists, else the nearest one above it that does.
fn nearest_existing(folder: &Path) -> PathBuf {
    let named = folder.ancestors().find(|above| above.as_os_str().is_empty() || above.exists());
    match named {
        Some(above) if !above.as_os_str().is_empty() => above.to_path_buf(),
        _ => PathBuf::from("."),
    }
}

fn cannot(place: &Path, error: &io::Error) -> Failure {
    let (problem, hint) = match error.kind() {
        io::ErrorKind::PermissionDenied | io::ErrorKind::ReadOnlyFilesystem => {
            ("may not be written".to_owned(), "name a folder of your own with --out")
        }
        io::ErrorKind::StorageFull => {
            ("the disk is full".to_owned(), "make room, or name another place with --out")
        }
        _ => (format!("cannot be written: {error}"), "name another folder with --out"),
    };
    Failure::bad(Message::new(Ours::CannotWrite, problem).about(place).hint(hint))
}

fn half_way(place: &Path, error: &io::Error, done: &[&str]) -> Failure {
    let already = match done {
        [] => "no file was replaced".to_owned(),
        names => format!("already replaced: {}", names.join(", ")),
    };
    let problem = format!("cannot be put in place: {error}; {already}");
    let hint = "do not cut from this folder; name another with --out and plan again";
    let message = Message::new(Ours::CannotWrite, problem).about(place).hint(hint);
    if done.is_empty() { Failure::bad(message) } else { Failure::HalfDone(vec![message]) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn texts() -> Vec<Text> {
        vec![("plan.json", "{}".to_owned()), ("sheets.html", "<html>".to_owned())]
    }

    fn names(folder: &Path) -> Vec<String> {
        let mut names: Vec<String> =
            fs::read_dir(folder).unwrap().map(|e| e.unwrap().file_name().into_string().unwrap()).collect();
        names.sort();
        names
    }

    #[test]
    fn a_new_folder_holds_the_files_and_nothing_else() {
        let top = tempfile::tempdir().unwrap();
        let target = top.path().join("a/b");
        assert_eq!(folder(&target, &NAMES, &texts()).unwrap(), [""; 0]);
        assert_eq!(names(&target), ["plan.json", "sheets.html"]);
        assert_eq!(fs::read_to_string(target.join("plan.json")).unwrap(), "{}");
    }

    #[test]
    fn an_earlier_plan_is_replaced_and_its_other_sheets_go() {
        let top = tempfile::tempdir().unwrap();
        for name in ["plan.json", "sheets-left-handed.html", "my-notes.txt"] {
            fs::write(top.path().join(name), "old").unwrap();
        }
        assert_eq!(folder(top.path(), &NAMES, &texts()).unwrap(), ["sheets-left-handed.html"]);
        assert_eq!(names(top.path()), ["my-notes.txt", "plan.json", "sheets.html"]);
        assert_eq!(fs::read_to_string(top.path().join("plan.json")).unwrap(), "{}");
    }

    #[test]
    fn a_folder_in_the_way_stops_everything() {
        let top = tempfile::tempdir().unwrap();
        fs::create_dir(top.path().join("plan.json")).unwrap();
        fs::write(top.path().join("sheets.html"), "old").unwrap();
        assert!(folder(top.path(), &NAMES, &texts()).is_err());
        assert_eq!(fs::read_to_string(top.path().join("sheets.html")).unwrap(), "old");
        assert_eq!(names(top.path()), ["plan.json", "sheets.html"]);
    }

    #[test]
    fn a_file_where_the_folder_should_be_is_refused_and_nothing_is_created() {
        let top = tempfile::tempdir().unwrap();
        let file = top.path().join("file");
        fs::write(&file, "mine").unwrap();
        assert!(possible(&file, &NAMES).is_err());
        assert!(possible(&file.join("below"), &NAMES).is_err());
        assert!(possible(&top.path().join("new/deep"), &NAMES).is_ok());
        assert_eq!(names(top.path()), ["file"]);
    }
}
