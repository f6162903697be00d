//! Ctrl-C: the first asks the search to stop, so that the best checked plan is still written; a second one ends the
//! program at once, as the system does by default.

use std::sync::Arc;
use std::sync::atomic::AtomicBool;

use signal_hook::consts::SIGINT;
use signal_hook::flag;

/// A flag that Ctrl-C raises.
///
/// # Errors
/// The system refuses to pass the signal on; the program works without.
pub(crate) fn flag() -> std::io::Result<Arc<AtomicBool>> {
    let stop = Arc::new(AtomicBool::new(false));
    // The order matters: the second Ctrl-C finds the flag raised, the first does not.
    flag::register_conditional_default(SIGINT, Arc::clone(&stop))?;
    flag::register(SIGINT, Arc::clone(&stop))?;
    Ok(stop)
}
