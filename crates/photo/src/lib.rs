//! Opens photographs from strangers and reads colour at marked places.
