//! Lengths, slopes and stated errors; what readings say and how surely.
