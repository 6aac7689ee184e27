//! say.
