//! The zeros of a program: nine work systems, and the shift of G92 (IR 6556, pages 26, 36, 37).

use crate::{gcode::Parameters, machine::Machine};

/// Where the program's zero lies in the frame of the work.
#[derive(Debug)]
pub(super) struct Zeros {
    /// Of each work system.
    systems: [[f64; 3]; 9],
    /// Of each axis: was it set, by the machine file (G54) or by the program?
    set: [[bool; 3]; 9],
    /// 0 for G54.
    pub current: usize,
    shift: [f64; 3],
    /// What G92.3 brings back.
    kept: [f64; 3],
    /// Machine zero in the frame of the work: X and Y of the bed's corner, Z of the highest tool tip.
    pub machine: [f64; 3],
}

impl Zeros {
    pub fn new(machine: &Machine, thickness: f64) -> Self {
        let bed = &machine.bed;
        Zeros {
            // A system nobody set may lie anywhere; it is taken to lie where G54 does.
            systems: [[0.0; 3]; 9],
            set: std::array::from_fn(|system| [system == 0; 3]),
            current: 0,
            shift: [0.0; 3],
            kept: [0.0; 3],
            machine: [-bed.work_at[0], -bed.work_at[1], bed.z - thickness],
        }
    }

    /// The work turns out to be so thick, before anything was measured from its top.
    pub fn lay_work(&mut self, machine: &Machine, thickness: f64) {
        self.machine[2] = machine.bed.z - thickness;
    }

    /// The program's zero as it stands.
    pub fn now(&self) -> [f64; 3] {
        let system = self.systems[self.current];
        std::array::from_fn(|axis| system[axis] + self.shift[axis])
    }

    pub fn is_set(&self, system: usize) -> bool {
        self.set[system] == [true; 3]
    }

    /// G10 L2: the zero of a system, in machine coordinates, mm.
    pub fn set_system(&mut self, system: usize, place: [Option<f64>; 3]) {
        for (axis, value) in place.into_iter().enumerate() {
            if let Some(value) = value {
                self.set[system][axis] = true;
                self.systems[system][axis] = value + self.machine[axis];
            }
        }
    }

    /// G92: the place `at`, in the frame of the work, is to read as given, mm.
    pub fn shift_to(&mut self, at: [f64; 3], reads: [Option<f64>; 3]) {
        for axis in 0..3 {
            if let Some(value) = reads[axis] {
                self.shift[axis] = at[axis] - self.systems[self.current][axis] - value;
            }
        }
        self.kept = self.shift;
    }

    /// G92.1
    pub fn drop_shift(&mut self) {
        (self.shift, self.kept) = ([0.0; 3], [0.0; 3]);
    }

    /// G92.2
    pub fn suspend_shift(&mut self) {
        self.shift = [0.0; 3];
    }

    /// G92.3
    pub fn resume_shift(&mut self) {
        self.shift = self.kept;
    }

    /// Writes the zeros to the parameters that stand for them (page 10), `unit` mm each.
    pub fn mirror(&self, parameters: &mut Parameters, unit: f64) {
        for axis in 0..3 {
            parameters.set(5211 + axis, self.kept[axis] / unit);
            for (system, place) in self.systems.iter().enumerate() {
                let value = (place[axis] - self.machine[axis]) / unit;
                parameters.set(5221 + 20 * system + axis, value);
            }
        }
        parameters.set(5220, (self.current + 1) as f64);
    }
}
