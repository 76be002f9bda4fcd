//! Colours of a picture: the window's paper or night.

/// For a light or a dark ground.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Look {
    /// Paper.
    Light,
    /// A dark screen.
    Dark,
}

impl Look {
    fn of(self, paper: u32, night: u32) -> u32 {
        match self {
            Look::Light => paper,
            Look::Dark => night,
        }
    }

    /// Ground of the picture.
    pub fn sheet(self) -> u32 {
        self.of(0xFD_FC_F9, 0x23_22_20)
    }

    /// Lines and text that matter.
    pub fn ink(self) -> u32 {
        self.of(0x24_26_2A, 0xE0_DA_CD)
    }

    /// Text that helps.
    pub fn quiet(self) -> u32 {
        self.of(0x57_57_56, 0xB4_AE_A2)
    }

    /// Lines of the grid.
    pub fn rule(self) -> u32 {
        self.of(0xE4_DF_D2, 0x3E_3B_37)
    }

    /// Edge of a plot.
    pub fn edge(self) -> u32 {
        self.of(0x80_7C_72, 0x80_7A_70)
    }

    /// Published limits.
    pub fn band(self) -> u32 {
        self.of(0xE6_E2_D8, 0x36_33_2F)
    }

    /// The hue of a role of both.
    pub(super) fn hue(self, (paper, night): (u32, u32)) -> u32 {
        self.of(paper, night)
    }
}

/// `#RRGGBB`.
pub(super) fn hex(colour: u32) -> String {
    format!("#{colour:06X}")
}
