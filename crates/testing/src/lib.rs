//! The obvious model and generators for tests; unpublished.
