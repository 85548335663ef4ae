//! Weighs the structural clues seen on a house inspection and explains its reasoning.
