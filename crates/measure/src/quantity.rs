//! Lengths, areas, masses, angles, spans of time, forces and densities as types.
//!
//! Built and read by unit: `Length::mm(12.0).to_cm()`. Two quantities of one
//! kind add and scale; two of different kinds do not mix.

use serde::{Deserialize, Serialize};
use std::ops::{Add, AddAssign, Div, Mul, Neg, Sub, SubAssign};

macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident { $($(#[$udoc:meta])* $make:ident / $read:ident = $factor:expr),+ $(,)? }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default, Serialize, Deserialize)]
        #[serde(transparent)]
        pub struct $name(f64);

        #[allow(clippy::self_named_constructors, reason = "a constructor is called by its unit, and days are both")]
        impl $name {
            /// None of it.
            pub const ZERO: Self = Self(0.0);
            $(
                $(#[$udoc])*
                #[must_use]
                pub const fn $make(value: f64) -> Self {
                    Self(value * $factor)
                }
                /// Read in the unit of the constructor of the same name.
                #[must_use]
                pub const fn $read(self) -> f64 {
                    self.0 / $factor
                }
            )+
            /// The same size without its sign.
            #[must_use]
            pub const fn abs(self) -> Self {
                Self(self.0.abs())
            }
            /// The smaller of the two.
            #[must_use]
            pub const fn min(self, other: Self) -> Self {
                Self(self.0.min(other.0))
            }
            /// The larger of the two.
            #[must_use]
            pub const fn max(self, other: Self) -> Self {
                Self(self.0.max(other.0))
            }
            /// Neither infinite nor "not a number".
            #[must_use]
            pub const fn is_finite(self) -> bool {
                self.0.is_finite()
            }
        }
        impl Add for $name {
            type Output = Self;
            fn add(self, other: Self) -> Self {
                Self(self.0 + other.0)
            }
        }
        impl AddAssign for $name {
            fn add_assign(&mut self, other: Self) {
                self.0 += other.0;
            }
        }
        impl Sub for $name {
            type Output = Self;
            fn sub(self, other: Self) -> Self {
                Self(self.0 - other.0)
            }
        }
        impl SubAssign for $name {
            fn sub_assign(&mut self, other: Self) {
                self.0 -= other.0;
            }
        }
        impl Neg for $name {
            type Output = Self;
            fn neg(self) -> Self {
                Self(-self.0)
            }
        }
        impl Mul<f64> for $name {
            type Output = Self;
            fn mul(self, factor: f64) -> Self {
                Self(self.0 * factor)
            }
        }
        impl Mul<$name> for f64 {
            type Output = $name;
            fn mul(self, quantity: $name) -> $name {
                $name(self * quantity.0)
            }
        }
        impl Div<f64> for $name {
            type Output = Self;
            fn div(self, divisor: f64) -> Self {
                Self(self.0 / divisor)
            }
        }
        impl Div for $name {
            type Output = f64;
            fn div(self, other: Self) -> f64 {
                self.0 / other.0
            }
        }
        impl std::iter::Sum for $name {
            fn sum<I: Iterator<Item = Self>>(items: I) -> Self {
                Self(items.map(|item| item.0).sum())
            }
        }
    };
}

quantity! {
    /// A length. Kept in millimetres.
    Length {
        /// Millimetres.
        mm / to_mm = 1.0,
        /// Centimetres.
        cm / to_cm = 10.0,
        /// Micrometres.
        um / to_um = 1e-3,
        /// Inches of 25.4 mm.
        inches / to_inches = 25.4,
    }
}
quantity! {
    /// An area. Kept in square millimetres.
    Area {
        /// Square millimetres.
        mm2 / to_mm2 = 1.0,
        /// Square centimetres.
        cm2 / to_cm2 = 100.0,
    }
}
quantity! {
    /// A mass. Kept in grams.
    Grams {
        /// Grams.
        g / to_g = 1.0,
        /// Milligrams.
        mg / to_mg = 1e-3,
    }
}
quantity! {
    /// An angle. Kept in radians.
    Angle {
        /// Radians.
        rad / to_rad = 1.0,
        /// Degrees, 360 to the turn.
        deg / to_deg = 0.017_453_292_519_943_295,
    }
}
quantity! {
    /// A span of time. Kept in days.
    Days {
        /// Days.
        days / to_days = 1.0,
        /// Weeks of seven days.
        weeks / to_weeks = 7.0,
        /// Hours.
        hours / to_hours = 0.041_666_666_666_666_664,
        /// Minutes.
        minutes / to_minutes = 0.000_694_444_444_444_444_4,
    }
}
quantity! {
    /// A force. Kept in newtons.
    Force {
        /// Newtons.
        newtons / to_newtons = 1.0,
        /// Gram-force: the weight of one gram under standard gravity, 9.80665 m/s2.
        gf / to_gf = 9.806_65e-3,
    }
}
quantity! {
    /// How many of something stand on an area. Kept per square centimetre.
    Density {
        /// Count per square centimetre.
        per_cm2 / to_per_cm2 = 1.0,
        /// Count per square millimetre.
        per_mm2 / to_per_mm2 = 100.0,
    }
}

impl Mul for Length {
    type Output = Area;
    fn mul(self, other: Self) -> Area {
        Area(self.0 * other.0)
    }
}

impl Mul<Area> for Density {
    /// A count.
    type Output = f64;
    fn mul(self, area: Area) -> f64 {
        self.0 * area.to_cm2()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_convert_as_the_si_says() {
        assert_eq!(Length::inches(1.0).to_mm(), 25.4);
        assert_eq!(Length::um(70.0).to_mm(), 0.07);
        assert!(((Length::cm(2.0) * Length::mm(5.0)).to_cm2() - 1.0).abs() < 1e-15);
        assert!((Force::gf(38.2).to_newtons() - 0.3746).abs() < 5e-5);
        assert!((Angle::deg(180.0).to_rad() - std::f64::consts::PI).abs() < 1e-15);
        assert!((Days::hours(36.0).to_days() - 1.5).abs() < 1e-12);
    }

    #[test]
    fn density_times_area_is_a_count() {
        // 180 to the square centimetre over 30 mm by 3 mm.
        let count = Density::per_cm2(180.0) * (Length::mm(30.0) * Length::mm(3.0));
        assert!((count - 162.0).abs() < 1e-9);
    }
}
