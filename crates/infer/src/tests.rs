mod agreement;
mod brute;
mod further;
mod published;
mod random;
