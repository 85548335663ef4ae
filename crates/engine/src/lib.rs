//! Pack and case in; weighed conclusions, support, action and reasons out.
