//! The skin of a head: size, surface, distances, partings, landmarks.
