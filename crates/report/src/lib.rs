//! Outcome to sentences, and sentences to a page.
