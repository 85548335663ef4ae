mod agreement;
mod brute;
mod changed;
mod further;
mod random;
mod supposed;
