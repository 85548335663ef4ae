//! One house: places, sightings by pass, contexts, measurements, limits of access.
