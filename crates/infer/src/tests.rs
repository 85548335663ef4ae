mod agreement;
mod brute;
mod changed;
mod driven;
mod further;
mod random;
mod supposed;
