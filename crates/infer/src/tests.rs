mod agreement;
mod brute;
mod published;
mod random;
