//! Why a paper could not be made.

/// Why a paper could not be made.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PaperFault {
    /// A face handed in is no font.
    #[error("the {0} face of the papers is not a font file: give a TrueType or OpenType file, or none")]
    Font(&'static str),
    /// A 2-D code holds less than it was to say.
    #[error("a text of {0} characters does not go into a 2-D code: shorten it")]
    Code(usize),
    /// The typesetter refused a page: a fault of the program, not of the user.
    #[error("a page could not be set: {0}; this is a fault of the program, please report it")]
    Setting(String),
}
