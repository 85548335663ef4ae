//! Makes the files of this repository that are made, and checks that they are up to date.

mod files;
mod generate;
mod golden;
pub mod robust;
mod schema;

pub use generate::generate;
pub use golden::golden;
pub use schema::schemas;
