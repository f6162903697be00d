//! The last line of defence: a panic anywhere ends in one message that says whose fault it is, and exit code 4.

use std::panic::{self, PanicHookInfo};
use std::process::ExitCode;
use std::sync::{Mutex, PoisonError};

use crate::print::clean;
use crate::report::{self, Failure};

/// What the first panic said and where. The first, because a panic in one thread drags others along.
static FIRST: Mutex<Option<String>> = Mutex::new(None);

/// Runs `work`; a panic becomes a message and exit code 4.
pub(crate) fn guarded(work: fn() -> ExitCode) -> ExitCode {
    panic::set_hook(Box::new(note));
    panic::catch_unwind(work).unwrap_or_else(|_| {
        let noted = FIRST.lock().unwrap_or_else(PoisonError::into_inner).take();
        let what = noted.unwrap_or_else(|| "it panicked and left no word".to_owned());
        let json = std::env::args_os().any(|word| word == "--json");
        report::close(&Failure::our_fault(&what), json)
    })
}

/// Keeps what a panic says instead of printing it.
fn note(panic: &PanicHookInfo<'_>) {
    let payload = panic.payload();
    let said =
        payload.downcast_ref::<&str>().copied().or(payload.downcast_ref::<String>().map(String::as_str));
    let place = panic.location().map(|at| format!(" ({}:{})", at.file(), at.line())).unwrap_or_default();
    let mut first = FIRST.lock().unwrap_or_else(PoisonError::into_inner);
    first.get_or_insert_with(|| format!("{}{place}", clean(said.unwrap_or("no reason given"))));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_panic_on_any_thread_becomes_exit_code_4() {
        let usual = panic::take_hook();
        let ended = guarded(|| {
            let worker = std::thread::spawn(|| panic!("a strip ran\u{1b}[2J out"));
            match worker.join() {
                Ok(()) => ExitCode::SUCCESS,
                Err(payload) => panic::resume_unwind(payload),
            }
        });
        let well = guarded(|| ExitCode::from(3));
        panic::set_hook(usual);
        // An exit code can be looked at in no other way.
        assert_eq!(format!("{ended:?}"), format!("{:?}", ExitCode::from(4)));
        assert_eq!(format!("{well:?}"), format!("{:?}", ExitCode::from(3)));
    }
}
