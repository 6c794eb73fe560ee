//! The science of colour: spectra, differences, adaptation, mixtures, the chart.
