//! `patchlay record`: one record into the log beside a plan, or what the log says. A record is reported only once it has
//! reached the disk.

mod runs;
mod show;
mod typed;

use std::borrow::Cow;
use std::path::Path;
use std::time::{SystemTime, UNIX_EPOCH};

use patchlay_measure::parse_length;
use patchlay_plan::record::{Note, Patches};
use patchlay_plan::{Hand, Plan, plan_number};
use patchlay_record::log::{self, LogError, Written};
use patchlay_record::replan::said;
use patchlay_scenario::Job;
use patchlay_scenario::spec::Quilt;
use serde_json::json;

use crate::args::{HandName, Noted, PatchesArgs, RecordArgs, paper_named};
use crate::plan::unprinted;
use crate::report::{Failure, Message, Ours};
use crate::{files, print, write};

/// Notes, shows, or writes the form.
///
/// # Errors
/// The plan or the log cannot be read, the log cannot be written, or the record makes no sense.
pub(crate) fn run(wanted: &RecordArgs) -> Result<(), Failure> {
    let plan = plan(&wanted.plan)?;
    let first = files::job_of(&plan, &wanted.plan)?;
    let file = log::beside(&wanted.plan);
    let before = log::read(&file, &plan).map_err(|error| refused(error, &file))?;
    // Names may be those of what came on top.
    let all = patchlay_record::with_added(&plan, &before.entries);
    let own = match &all {
        Cow::Borrowed(_) => None,
        Cow::Owned(all) => Some(files::job_of(all, &wanted.plan)?),
    };
    let job = own.as_ref().unwrap_or(&first);
    let note = match &wanted.what {
        Noted::Show => return show::run(wanted, &all, job),
        Noted::Tally { paper } => {
            let day = runs::followed(&wanted.plan, &plan);
            let page = patchlay_sheets::tally_page(&all, day.as_ref(), job, paper_named(*paper, job.units));
            return tally(wanted, page.map_err(unprinted)?);
        }
        Noted::QuiltAdded { file } => quilts(file, (&plan, &first), &before)?,
        Noted::Run { .. } | Noted::Passes { first: None, .. } => return runs::run(wanted, &plan, &first),
        what => note(what, &plan, job)?,
    };
    let when = (wanted.at.unwrap_or_else(now), wanted.who.clone());
    let sound = |log: &log::Log, entry: &_| patchlay_record::sound(&plan, &first, log, entry);
    let written = log::append(&file, &plan, when, note, sound).map_err(|error| refused(error, &file))?;
    told(wanted, &written, &file, job)
}

/// A plan that nobody has changed. Whether it is sound is checked when it is made and when the rest is planned; here
/// somebody stands beside a cutter and waits.
fn plan(file: &Path) -> Result<Plan, Failure> {
    let plan = files::plan(file)?;
    let number = plan_number(&plan).map_err(|error| Failure::our_fault(&error.to_string()))?;
    if number == plan.number {
        return Ok(plan);
    }
    let problem =
        format!("the plan was changed after it was made: its number is {}, not {}", number, plan.number);
    let hint = "name the plan.json that 'patchlay plan' wrote, unchanged";
    Err(Failure::bad(Message::new(Ours::NotAPlan, problem).about(file).hint(hint)))
}

fn now() -> u64 {
    SystemTime::now().duration_since(UNIX_EPOCH).map_or(0, |since| since.as_secs())
}

/// Why a log could not be read or did not take a record.
pub(crate) fn refused(error: LogError, file: &Path) -> Failure {
    Failure::bad(match error {
        LogError::Refused(problem) => Message::of_record(&problem, file),
        LogError::File(error) => {
            Message::new(Ours::CannotWrite, format!("the log cannot be read or written: {error}"))
                .about(file)
                .hint(
                    "nothing was noted; look at the folder and its permissions, and at the room on the disk",
                )
        }
    })
}

fn tally(wanted: &RecordArgs, page: String) -> Result<(), Failure> {
    let folder =
        wanted.plan.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    write::folder(folder, &write::TALLY, &[("tally.html", page)])?;
    let file = folder.join("tally.html");
    if wanted.json {
        return print::json(&json!({ "exit_code": 0, "written": [file.display().to_string()] }));
    }
    print::out(&print::wrapped("", &format!("Written: {}.", file.display())))
}

/// What was typed as a record.
fn note(what: &Noted, plan: &Plan, job: &Job) -> Result<Note, Failure> {
    let length = |text: &str| {
        parse_length(text, job.units).map_err(|error| {
            let problem = format!("`{}` is not a length: {}", print::clean(text), error.problem());
            Failure::bad(Message::new(Ours::Typed, problem).hint(error.hint()))
        })
    };
    Ok(match what {
        Noted::Passes { layup, passes, first, plies } => {
            let fewer = plies.iter().map(|text| typed::fewer(text)).collect::<Result<_, _>>()?;
            Note::Passes { layup: layup.clone(), passes: *passes, first: *first, fewer }
        }
        Noted::Spoiled { layup, pass, area, plies } => {
            Note::PliesSpoiled { spot: typed::spot(plan, layup, *pass, area)?, plies: *plies }
        }
        Noted::WrongFabric { layup, pass, area, instead, used } => {
            let spot = typed::spot(plan, layup, *pass, area)?;
            Note::WrongFabric {
                spot,
                instead: instead.as_ref().map(|name| fabric(name, job)),
                used: used.clone(),
            }
        }
        Noted::PatchesSpoiled(some) => Note::PatchesSpoiled { patches: patches(some, job) },
        Noted::PatchesFound(some) => Note::PatchesFound { patches: patches(some, job) },
        Noted::ClothSpoiled { name } => Note::ClothSpoiled { name: name.clone() },
        Noted::Bolt { fabric: name, left, width } => match (left, width) {
            (Some(left), _) => Note::BoltShort { fabric: fabric(name, job), left: length(left)? },
            (None, width) => {
                let width = length(width.as_deref().unwrap_or_default())?;
                Note::BoltNarrow { fabric: fabric(name, job), width }
            }
        },
        Noted::Strips { strips } => Note::StripsCut { strips: strips.clone() },
        Noted::Tray { layup, passes } => Note::TrayPrepared { layup: layup.clone(), passes: *passes },
        Noted::Board { board, copies } => Note::BoardDamaged { board: board.clone(), copies: *copies },
        Noted::Mat { mat, mats } => Note::MatDamaged { mat: mat.clone(), mats: *mats },
        Noted::Helper { person, can, speed } => Note::PersonHelps {
            person: person.clone(),
            can: can.iter().map(|work| work.work()).collect(),
            speed_percent: *speed,
        },
        Noted::Person { person } => Note::PersonGone { person: person.clone() },
        Noted::QuiltDropped { quilt, copies } => Note::QuiltDropped { quilt: quilt.clone(), copies: *copies },
        Noted::Undo { record } => Note::Undo { record: *record },
        Noted::QuiltAdded { .. } | Noted::Run { .. } | Noted::Show | Noted::Tally { .. } => {
            return Err(Failure::our_fault("a word that is no record was taken for one"));
        }
    })
}

/// A fabric's full name where its letter was typed; what is unknown is named when the record is judged.
fn fabric(typed: &str, job: &Job) -> String {
    let named = job.fabrics.iter().any(|fabric| fabric.name == typed);
    let lettered = job.fabrics.iter().find(|fabric| !named && fabric.letter == typed);
    lettered.map_or_else(|| typed.to_owned(), |fabric| fabric.name.clone())
}

fn patches(typed: &PatchesArgs, job: &Job) -> Patches {
    let hand = match typed.hand {
        None => Hand::Any,
        Some(HandName::Drawn) => Hand::Drawn,
        Some(HandName::Mirrored) => Hand::Mirrored,
    };
    Patches { fabric: fabric(&typed.fabric, job), shape: typed.shape.clone(), hand, patches: typed.patches }
}

/// One quilt, or quilts with what they bring.
fn quilts(file: &Path, (plan, job): (&Plan, &Job), log: &log::Log) -> Result<Note, Failure> {
    let text = files::text(file, "quilt")?;
    if !patchlay_record::brings_more(&text) {
        return Ok(Note::QuiltAdded { quilt: quilt(&text, file)? });
    }
    patchlay_record::read_added(plan, job, &log.entries, &text).map_err(|problems| {
        Failure::Bad(problems.iter().map(|problem| Message::of_problem(problem, file)).collect())
    })
}

fn quilt(text: &str, file: &Path) -> Result<Quilt, Failure> {
    serde_json::from_str(text).map_err(|error| {
        let problem = format!("the file is not a quilt: {error}");
        let hint = "write it as one entry of the scenario's quilts: name, copies, blocks; or write fabrics, blocks and \
                    quilts as in a scenario";
        Failure::bad(
            Message::new(Ours::Typed, problem).about(file).at(error.line(), error.column()).hint(hint),
        )
    })
}

/// What was noted, and what of the log could not be read.
fn told(wanted: &RecordArgs, written: &Written, file: &Path, job: &Job) -> Result<(), Failure> {
    let troubles = &written.before.troubles;
    if wanted.json {
        return print::json(&json!({
            "exit_code": 0,
            "record": written.entry,
            "log": file.display().to_string(),
            "set_aside_bytes": written.set_aside,
            "troubles": troubles,
        }));
    }
    for trouble in troubles {
        print::aside(Message::of_record(trouble, file).text().replacen("error[", "look out[", 1).trim_end());
    }
    let text = format!("Noted as record {}: {}.", written.entry.number, said(&written.entry.note, job.units));
    print::out(&print::wrapped("", &text))
}
