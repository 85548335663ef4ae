mod agreement;
mod brute;
mod further;
mod random;
