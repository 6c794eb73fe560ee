//! The head map, the run sheet, the quote, the aftercare sheet, the calendar file.
