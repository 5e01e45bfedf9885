//! A tour relaxed to a linear program: how little the edges can weigh if every place has two.
//!
//! The program is solved in floating point, so its value proves nothing. What does is its prices
//! (its dual), rounded and summed in whole numbers: [`Relaxation::proof`].

use std::rc::Rc;

use microlp::{ComparisonOp, Error, OptimizationDirection, Problem, Solution, Variable};

use super::cuts::{Cut, Shares};

/// A share of an edge counts as none of it, or the whole, within this.
const EPSILON: f64 = 1e-6;

/// Work is counted in pivots of the solver, and every program it is asked for as so many more; one
/// that nothing satisfies, of which it tells no pivots, as so many.
const ASKED: u64 = 20;
const IN_VAIN: u64 = 60;

/// One pivot of so many counts where something is proved: that is seldom in vain.
const OF_A_PROOF: u64 = 4;

/// Where nothing satisfies a program its prices would have no end: so many times its unit. With
/// higher ones, more of the edges that it has not are left with less than nothing.
const DEAREST: f64 = 16.0;

/// Edges, and what is needed to make programs of them and of cuts.
pub(super) struct Relaxation {
    pub nodes: usize,
    pub ends: Vec<[u32; 2]>,
    /// Their costs with the prices of their ends.
    pub weight: Vec<i64>,
    /// What the edges of a tour weigh more than it costs.
    pub shift: i64,
    /// Edges that programs use: the others are only looked at when something is proved.
    pub active: Vec<bool>,
    /// What a program counts in.
    pub unit: f64,
    /// Work that may still be done.
    pub left: u64,
}

/// A linear program of some cuts and decisions, solved.
#[derive(Clone)]
pub(super) struct Program {
    rows: Vec<Rc<Cut>>,
    /// Edges that are in or out by decision.
    pub decided: Vec<Option<bool>>,
    /// `None` where an edge is not in the program.
    variables: Vec<Option<Variable>>,
    /// `None` when nothing satisfies it.
    solution: Option<Solution>,
    /// How much of every edge was used when last something satisfied it; all of each while nothing is known.
    last_share: Vec<f64>,
    /// Whether it was solved from nothing, not from the solution of a program almost the same.
    pub anew: bool,
}

/// The solver gave up, or may do no more work.
#[derive(Debug)]
pub(super) struct Failed;

/// What the prices of a program prove.
pub(super) struct Proof {
    /// No tour that keeps to the program's decisions costs less.
    pub worth: i64,
    /// What is left of every edge's weight when the prices of its ends and cuts are paid: a tour
    /// that has it in spite of that, or lacks it (where less than 0), costs as much more.
    pub rest: Vec<i64>,
}

impl Program {
    /// How much it uses of every edge; nothing when nothing satisfies it.
    pub fn share(&self) -> Vec<f64> {
        let Some(solution) = &self.solution else {
            return vec![0.0; self.variables.len()];
        };
        self.variables.iter().map(|v| v.map_or(0.0, |v| solution.var_value(v))).collect()
    }

    /// Gives its solution away, to be solved on.
    fn give_solution(&mut self) -> Option<Solution> {
        if self.solution.is_some() {
            self.last_share = self.share();
        }
        self.solution.take()
    }
}

/// Whether a share is neither none nor the whole.
pub(super) fn split(share: f64) -> bool {
    (EPSILON..1.0 - EPSILON).contains(&share)
}

impl Relaxation {
    /// A program of some cuts.
    pub fn first(&mut self, cuts: Vec<Cut>) -> Result<Program, Failed> {
        self.solve(cuts.into_iter().map(Rc::new).collect(), vec![None; self.ends.len()])
    }

    /// The same once more, with the edges that have become active since.
    pub fn anew(&mut self, program: Program) -> Result<Program, Failed> {
        self.solve(program.rows, program.decided)
    }

    /// The least that tours cost by the program; `None` when there are none.
    pub fn value(&self, program: &Program) -> Option<f64> {
        let solution = program.solution.as_ref()?;
        Some(solution.objective() * self.unit - self.shift as f64)
    }

    /// How many edges programs use.
    pub fn count_active(&self) -> usize {
        self.active.iter().filter(|a| **a).count()
    }

    pub fn shares(&self, share: &[f64]) -> Shares<'_> {
        Shares::new(self.nodes, &self.ends, share)
    }

    /// The program with one edge in or out.
    pub fn decide(&mut self, program: &Program, e: usize, to: bool) -> Result<Program, Failed> {
        let mut next = program.clone();
        next.decided[e] = Some(to);
        if let (Some(solution), Some(variable)) = (next.give_solution(), next.variables[e]) {
            let before = solution.stats().lp_iterations;
            let ask = || solution.fix_var(variable, f64::from(u8::from(to)));
            next.solution = self.solved(before, ask)?;
            next.anew = false;
        }
        Ok(next)
    }

    /// The program with more cuts, until nothing satisfies it any more.
    pub fn add(&mut self, mut program: Program, new: Vec<Cut>) -> Result<Program, Failed> {
        for cut in new {
            let Some(solution) = program.give_solution() else { break };
            let terms = terms(&cut, &program.variables);
            let before = solution.stats().lp_iterations;
            let ask = || solution.add_constraint(&terms[..], ComparisonOp::Ge, cut.least as f64);
            program.solution = self.solved(before, ask)?;
            program.anew = false;
            program.rows.push(Rc::new(cut));
        }
        Ok(program)
    }

    fn solve(&mut self, rows: Vec<Rc<Cut>>, decided: Vec<Option<bool>>) -> Result<Program, Failed> {
        let mut problem = Problem::new(OptimizationDirection::Minimize);
        let mut at_node = vec![Vec::new(); self.nodes];
        let mut variables = vec![None; self.ends.len()];
        for e in (0..self.ends.len()).filter(|&e| self.active[e] && decided[e] != Some(false)) {
            let least = if decided[e] == Some(true) { 1.0 } else { 0.0 };
            let variable = problem.add_var(self.weight[e] as f64 / self.unit, (least, 1.0));
            variables[e] = Some(variable);
            for end in self.ends[e] {
                at_node[end as usize].push((variable, 1.0));
            }
        }
        for terms in at_node {
            problem.add_constraint(&terms[..], ComparisonOp::Eq, 2.0);
        }
        for cut in &rows {
            let terms = terms(cut, &variables);
            problem.add_constraint(&terms[..], ComparisonOp::Ge, cut.least as f64);
        }
        let solution = self.solved(0, || problem.solve())?;
        let last_share = vec![1.0; variables.len()];
        Ok(Program { rows, decided, variables, solution, last_share, anew: true })
    }

    /// The solver's answer to what is asked, if there is work left; `before` are the pivots that
    /// it counts from before.
    fn solved(
        &mut self,
        before: u64,
        ask: impl FnOnce() -> Result<microlp::SolveOutcome, Error>,
    ) -> Result<Option<Solution>, Failed> {
        if self.left == 0 {
            return Err(Failed);
        }
        let (solution, pivots) = match ask() {
            Ok(outcome) => {
                let solution = outcome.into_solution().map_err(|_| Failed)?;
                let pivots = solution.stats().lp_iterations - before;
                (Some(solution), pivots)
            }
            Err(Error::Infeasible) => (None, IN_VAIN),
            Err(_) => return Err(Failed),
        };
        self.left = self.left.saturating_sub(ASKED + pivots);
        Ok(solution)
    }

    /// What the program's prices prove. Every place pays its price twice, every cut for what it
    /// must hold; an edge that is left with less than nothing may be used once. That bounds tours
    /// whatever the prices are, so it does not matter how well they were found. Edges that the
    /// program has not, but should have had, become active.
    ///
    /// # Errors
    /// The solver gave up, or its prices come to more than any tour could.
    pub fn proof(&mut self, program: &Program) -> Result<Proof, Failed> {
        // The last proof may be had when no work is left.
        let left = self.left;
        self.left = u64::MAX;
        let proof = self.proof_in_rounds(program);
        self.left = left.saturating_sub((u64::MAX - self.left) / OF_A_PROOF);
        proof
    }

    fn proof_in_rounds(&mut self, program: &Program) -> Result<Proof, Failed> {
        let mut dual = Dual::new(self, program);
        let mut solution = self.solved(0, || dual.problem.solve())?.ok_or(Failed)?;
        loop {
            let (at_node, of_cut) = dual.prices(&solution, self.unit);
            let proof = self.worth(program, &at_node, &of_cut)?;
            let lacks = |&e: &usize| {
                !self.active[e] && proof.rest[e] < 0 && program.decided[e] != Some(false)
            };
            let lacking: Vec<usize> = (0..self.ends.len()).filter(lacks).collect();
            if lacking.is_empty() {
                return Ok(proof);
            }
            for &e in &lacking {
                self.active[e] = true;
            }
            for e in lacking {
                let before = solution.stats().lp_iterations;
                let weight = self.weight[e] as f64 / self.unit;
                let terms = std::mem::take(&mut dual.terms[e]);
                let ask = || solution.add_constraint(&terms[..], ComparisonOp::Le, weight);
                solution = self.solved(before, ask)?.ok_or(Failed)?;
            }
        }
    }

    /// What prices of nodes and cuts prove.
    fn worth(&self, program: &Program, at_node: &[i64], of_cut: &[i64]) -> Result<Proof, Failed> {
        // Whatever the prices are, their sums do not wrap round.
        let mut rest: Vec<i128> = self.weight.iter().map(|&w| w.into()).collect();
        for (rest, ends) in rest.iter_mut().zip(&self.ends) {
            *rest -= ends.iter().map(|&a| i128::from(at_node[a as usize])).sum::<i128>();
        }
        let mut worth = 2 * at_node.iter().map(|&p| i128::from(p)).sum::<i128>();
        worth -= i128::from(self.shift);
        for (cut, &price) in program.rows.iter().zip(of_cut) {
            worth += i128::from(price) * i128::from(cut.least);
            for &(e, factor) in &cut.terms {
                rest[e as usize] -= i128::from(price) * i128::from(factor);
            }
        }
        for (decided, &rest) in program.decided.iter().zip(&rest) {
            worth += match decided {
                None => rest.min(0),
                Some(true) => rest,
                Some(false) => 0,
            };
        }
        let narrow = |sum: i128| i64::try_from(sum).map_err(|_| Failed);
        let rest = rest.into_iter().map(narrow).collect::<Result<_, _>>()?;
        Ok(Proof { worth: narrow(worth)?, rest })
    }
}

/// The dual of a program: its solution are the prices of nodes and cuts that prove the most about
/// active edges.
struct Dual {
    problem: Problem,
    at_node: Vec<Variable>,
    of_cut: Vec<Variable>,
    /// Of every edge, active or not, the prices that may not exceed its weight.
    terms: Vec<Vec<(Variable, f64)>>,
}

impl Dual {
    fn new(of: &Relaxation, program: &Program) -> Dual {
        let mut dual = Problem::new(OptimizationDirection::Maximize);
        // A price for being used once at most is worth having on an edge that is used wholly; where nothing
        // satisfies the program, on one that was used at all when last something did.
        let (most, share, from_share) = match program.solution {
            Some(_) => (f64::INFINITY, program.share(), 1.0 - EPSILON),
            None => (DEAREST, program.last_share.clone(), EPSILON),
        };
        let at_node: Vec<_> = (0..of.nodes).map(|_| dual.add_var(2.0, (-most, most))).collect();
        let mut terms: Vec<Vec<(Variable, f64)>> =
            of.ends.iter().map(|ends| ends.map(|a| (at_node[a as usize], 1.0)).to_vec()).collect();
        let mut of_cut = Vec::with_capacity(program.rows.len());
        for cut in &program.rows {
            let price = dual.add_var(cut.least as f64, (0.0, most));
            of_cut.push(price);
            for &(e, factor) in &cut.terms {
                terms[e as usize].push((price, factor as f64));
            }
        }
        for (e, terms) in terms.iter_mut().enumerate() {
            match program.decided[e] {
                Some(false) => continue,
                Some(true) => terms.push((dual.add_var(-1.0, (-most, most)), -1.0)),
                None if share[e] < from_share => {}
                None => terms.push((dual.add_var(-1.0, (0.0, most)), -1.0)),
            }
            if of.active[e] {
                dual.add_constraint(&terms[..], ComparisonOp::Le, of.weight[e] as f64 / of.unit);
            }
        }
        Dual { problem: dual, at_node, of_cut, terms }
    }

    /// Of nodes and of cuts, in whole numbers.
    fn prices(&self, solution: &Solution, unit: f64) -> (Vec<i64>, Vec<i64>) {
        let round = |&v: &Variable| (solution.var_value(v) * unit) as i64;
        let of_cut = self.of_cut.iter().map(|v| round(v).max(0)).collect();
        (self.at_node.iter().map(round).collect(), of_cut)
    }
}

fn terms(cut: &Cut, variables: &[Option<Variable>]) -> Vec<(Variable, f64)> {
    let term = |&(e, factor): &(u32, i64)| Some((variables[e as usize]?, factor as f64));
    cut.terms.iter().filter_map(term).collect()
}
