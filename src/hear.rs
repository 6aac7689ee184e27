//! hear.
