//! What a replan wrote, judged from the files alone: the replan by plan and log, its supplement's files by the replan, and
//! the rest of a group's day by all of them.

use std::path::{Path, PathBuf};

use patchlay_check::{DayVerdict, Recounted, Verdict};
use patchlay_plan::Plan;
use patchlay_plan::day::Day;
use patchlay_plan::record::counting;
use patchlay_plan::replan::{Replan, replan_number};
use patchlay_record::log::{self, Log};
use serde_json::{Value, json};

use super::{day_text, messages};
use crate::args::VerifyArgs;
use crate::record::refused;
use crate::report::{Failure, Message, Ours};
use crate::{files, print};

/// Files of a day that had begun.
pub(super) struct Begun {
    file: PathBuf,
    replan: Replan,
    /// The log as it was when the replan was made.
    log: Log,
    /// Records noted since.
    since: usize,
    /// The rest of the day, from every file that has one.
    rests: Vec<(PathBuf, Day)>,
    /// The file of the supplement, and the text of its scenario's.
    supplement: Option<(PathBuf, String)>,
}

/// What was found of them.
pub(super) struct Found {
    recounted: Recounted,
    supplement: Option<Verdict>,
    rests: Vec<DayVerdict>,
}

impl Begun {
    /// Reads the folder or the file of a replan, the log that it was made from, and the rest of the day: in the folder, or
    /// as named.
    ///
    /// # Errors
    /// A file is missing or unreadable, or they do not belong together.
    pub(super) fn read(
        wanted: &VerifyArgs,
        plan: &Plan,
        replan: &Path,
        named: Option<&(&PathBuf, Day)>,
    ) -> Result<Self, Failure> {
        let folder = replan.is_dir().then_some(replan);
        let file = folder.map_or_else(|| replan.to_owned(), |folder| folder.join("replan.json"));
        let replan = files::replan(&file)?;
        if replan.plan != plan.number {
            let problem =
                format!("the replan belongs to plan {}, and this is plan {}", replan.plan, plan.number);
            let hint = "name the replan that was made from this plan, or the plan that it was made from";
            return Err(not_together(&file, problem, hint));
        }
        let (log, since) = log_of(wanted, plan, &replan)?;
        let in_folder = |name: &str| folder.map(|folder| folder.join(name)).filter(|file| file.exists());
        let mut rests = Vec::new();
        if let Some(file) = in_folder("day.json") {
            rests.push((file.clone(), files::day(&file)?));
        }
        // What is named besides may be the very same, and is judged once then.
        let named = named.into_iter().filter(|(_, day)| day.rest.is_some());
        rests.extend(named.map(|(file, day)| ((*file).clone(), day.clone())));
        rests.dedup_by(|one, other| one.1 == other.1);
        // The number of a replan that was changed says nothing about the rest.
        let own_number = replan_number(&replan).is_ok_and(|number| number == replan.number);
        for (file, day) in rests.iter().filter(|_| own_number) {
            if day.rest.is_some() && day.plan != replan.number {
                let problem = format!(
                    "the rest of the day belongs to replan {}, and this is replan {}",
                    day.plan, replan.number
                );
                return Err(not_together(file, problem, "name files that one replan has written"));
            }
        }
        let supplement = match folder {
            Some(folder) => supplement_files(folder, &replan)?,
            None => None,
        };
        Ok(Self { file, replan, log, since, rests, supplement })
    }

    /// Judges all of them.
    ///
    /// # Errors
    /// Every fault, about its file.
    pub(super) fn judge(&self, plan: &Plan) -> Result<Found, Vec<Message>> {
        let entries = &self.log.entries;
        let recounted = patchlay_check::check_replan(plan, entries, &self.replan)
            .map_err(|faults| messages(&faults, &self.file))?;
        let mut failures = Vec::new();
        let mut rests = Vec::new();
        for (file, day) in &self.rests {
            match patchlay_check::check_rest(plan, entries, &self.replan, day) {
                Ok(found) => rests.push(found),
                Err(faults) => failures.extend(messages(&faults, file)),
            }
        }
        let mut supplement = None;
        if let (Some((file, scenario)), Some(plan)) = (&self.supplement, &self.replan.supplement) {
            match patchlay_check::check(scenario, plan) {
                Ok(found) => supplement = Some(found),
                Err(faults) => failures.extend(messages(&faults, file)),
            }
        }
        if failures.is_empty() { Ok(Found { recounted, supplement, rests }) } else { Err(failures) }
    }

    /// For people; `hours` where the scenario has a group, whose hours could be judged.
    pub(super) fn as_text(&self, found: &Found, hours: bool) -> String {
        let mut text = String::new();
        if self.since > 0 {
            let since = records(self.since);
            let said = format!("Look out: the log has {since} more, which the replan does not know.");
            text.push_str(&print::wrapped("", &said));
        }
        let counted = &found.recounted;
        let mut said = format!(
            "Replan {} passes the check: {} that count, {} passes made, {} kept, {} dropped, {} kinds of patches \
             counted again",
            self.replan.number,
            records(counting(&self.log.entries).len()),
            counted.made,
            counted.kept,
            counted.dropped,
            counted.lines,
        );
        match (&self.replan.supplement, &found.supplement) {
            (None, _) => said.push_str("; nothing is cut anew."),
            (Some(plan), None) => said.push_str(&format!("; supplement {} in it passes too.", plan.number)),
            (Some(plan), Some(_)) => {
                said.push_str(&format!(
                    "; supplement {} passes too, and its files say the same.",
                    plan.number
                ));
            }
        }
        text.push_str(&print::wrapped("", &said));
        for ((_, day), found) in self.rests.iter().zip(&found.rests) {
            text.push_str(&day_text("The rest of the day", day, found));
        }
        if hours && self.rests.is_empty() {
            let said =
                "No rest of the day was judged: there is no day.json with the replan, and --day names none.";
            text.push_str(&print::wrapped("", said));
        }
        text
    }

    /// The same for programs.
    pub(super) fn add_json(&self, found: &Found, told: &mut Value) {
        let supplement = self.replan.supplement.as_ref().map(|plan| &plan.number);
        told["replan"] = json!({
            "number": self.replan.number, "checked": found.recounted, "supplement": supplement,
            "supplement_checked": found.supplement, "records_since": self.since,
        });
        let rests = self.rests.iter().zip(&found.rests);
        told["rest"] =
            rests.map(|((_, day), found)| json!({ "number": day.number, "checked": found })).collect();
    }
}

fn records(count: usize) -> String {
    if count == 1 { "1 record".to_owned() } else { format!("{count} records") }
}

fn not_together(file: &Path, problem: impl Into<String>, hint: impl Into<String>) -> Failure {
    Failure::bad(Message::new(Ours::NotTogether, problem).about(file).hint(hint))
}

/// The log as it was when the replan was made, and how many records were noted since.
fn log_of(wanted: &VerifyArgs, plan: &Plan, replan: &Replan) -> Result<(Log, usize), Failure> {
    let file = wanted.log.clone().unwrap_or_else(|| log::beside(&wanted.plan));
    if !file.exists() && (wanted.log.is_some() || replan.log_bytes > 0) {
        let problem = format!("there is no log, and the replan was made from one with {}", as_it_was(replan));
        let hint = "name the log that stood beside the plan with --log; it is plan.log unless it was moved";
        return Err(Failure::bad(Message::new(Ours::CannotRead, problem).about(&file).hint(hint)));
    }
    let read = log::read_as_of(&file, plan, replan.log_bytes);
    let (now, log) = read.map_err(|error| refused(error, &file))?;
    for trouble in &log.troubles {
        print::aside(Message::of_record(trouble, &file).text().replacen("error[", "look out[", 1).trim_end());
    }
    if log.bytes != replan.log_bytes || counting(&log.entries).len() as u64 != replan.records {
        let problem = format!(
            "the replan was made from another log: from one with {}; this one has {} bytes and {}",
            as_it_was(replan),
            now.bytes,
            records_that_count(counting(&now.entries).len() as u64)
        );
        let hint = "name the log that the replan was made from with --log; or replan again from this one";
        return Err(not_together(&file, problem, hint));
    }
    let since = now.entries.len().saturating_sub(log.entries.len());
    if now.bytes > log.bytes && !wanted.as_of_replan {
        let problem = format!("the log has grown since the replan was made: {} more", records(since));
        let hint = "replan again, so that they count; or add --as-of-replan to judge the replan by the log as it was then";
        return Err(not_together(&file, problem, hint));
    }
    Ok((log, since))
}

fn as_it_was(replan: &Replan) -> String {
    format!("{} bytes and {}", replan.log_bytes, records_that_count(replan.records))
}

fn records_that_count(count: u64) -> String {
    if count == 1 { "1 record that counts".to_owned() } else { format!("{count} records that count") }
}

/// The supplement's scenario and plan in the folder of a replan, which must say what the replan says.
///
/// # Errors
/// One of them is missing or cannot be read, or the supplement is another.
fn supplement_files(folder: &Path, replan: &Replan) -> Result<Option<(PathBuf, String)>, Failure> {
    let [scenario, file] = ["supplement-scenario.json", "supplement.json"].map(|name| folder.join(name));
    let Some(own) = &replan.supplement else {
        return match [file, scenario].into_iter().find(|file| file.exists()) {
            None => Ok(None),
            Some(file) => {
                let problem = "the replan in this folder cuts nothing anew, and here stands a supplement";
                Err(not_together(
                    &file,
                    problem,
                    "replan again into a folder of its own; do not cut from this file",
                ))
            }
        };
    };
    if files::plan(&file)? != *own {
        let problem =
            format!("this is not the supplement {} that the replan in this folder holds", own.number);
        return Err(not_together(&file, problem, "replan again; do not cut from this file"));
    }
    let text = files::text(&scenario, "scenario")?;
    Ok(Some((file, text)))
}
