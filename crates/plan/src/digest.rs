//! Names derived from contents.

use sha2::{Digest, Sha256};

use crate::{Certificate, Outcome, Plan};

pub(crate) fn hex(bytes: &[u8]) -> String {
    use std::fmt::Write as _;
    bytes.iter().fold(String::new(), |mut text, byte| {
        let _ = write!(text, "{byte:02x}");
        text
    })
}

/// SHA-256 of the scenario file's bytes, in hexadecimal.
#[must_use]
pub fn scenario_digest(text: &str) -> String {
    hex(&Sha256::digest(text.as_bytes()))
}

/// The number printed on every sheet: the first eight hexadecimal digits of the SHA-256 of the plan's JSON without its
/// number and what is proved of it, in two groups of four. Any change of what is cut changes it; a proof does not, so that sheets printed before a longer proof stay good.
///
/// # Errors
/// Only if serde_json fails, which plain data never makes it do.
pub fn plan_number(plan: &Plan) -> serde_json::Result<String> {
    let mut bare = plan.clone();
    bare.number.clear();
    bare.bounds.clear();
    bare.certificate = Certificate::default();
    bare.outcome = Outcome::WithGap;
    bare.fewest = None;
    let digest = hex(&Sha256::digest(serde_json::to_string(&bare)?.as_bytes()));
    Ok(format!("{}-{}", &digest[..4], &digest[4..8]))
}
