//! Distances along a surface.
