//! Colours of the roles, from the Okabe-Ito palette (Color Universal Design, 2008), darkened on paper and
//! lightened at night where the plain hue stays below the 3:1 that WCAG 2.2 (1.4.11) asks of graphics.

use super::role::Role;

/// The hue of a role on paper and at night, each as 0xRRGGBB.
pub fn hues(role: Role) -> (u32, u32) {
    match role {
        // bluish green, reddish purple, blue, vermillion, orange, yellow, sky blue
        Role::Vcc => (0x007F5C, 0x1DB38A),
        Role::Vref => (0xA64D7E, 0xCC79A7),
        Role::RtCt => (0x0072B2, 0x3D97D0),
        Role::Out => (0xC05400, 0xE0701C),
        Role::Gate => (0x9A6A00, 0xE69F00),
        Role::Cs => (0x756C00, 0xDDD248),
        Role::Aux => (0x2F7FAE, 0x56B4E9),
        Role::Comp | Role::Output => (0x3A3C40, 0xCFC9BC),
        Role::Bulk | Role::Fb | Role::Other => (0x6E6B64, 0x999999),
    }
}
