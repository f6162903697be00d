//! Checks by hand and against the oracle.
