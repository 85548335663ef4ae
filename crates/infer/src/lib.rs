//! Exact inference over discrete cause-effect networks with noisy-MAX.
