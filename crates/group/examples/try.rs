//! Plans the day of a plan file and prints its figures, for whoever changes the search: `try PLAN [EFFORT] [one-more]`,
//! `DAY=FILE` in the environment to keep the day, which `patchlay check` then judges. The plan is taken as it stands:
//! `patchlay plan` has exchanged its alike pieces already.

#![allow(clippy::unwrap_used, reason = "an example that cannot go on should stop")]

use patchlay_group::{Options, plan_day};
use patchlay_plan::Plan;

fn main() {
    let mut arguments = std::env::args().skip(1);
    let file = arguments.next().unwrap();
    let effort = arguments.next().map_or(3, |text| text.parse().unwrap());
    let plan = Plan::from_json(&std::fs::read_to_string(file).unwrap()).unwrap();
    let (_, job) = patchlay_scenario::load(&plan.scenario.to_string()).unwrap();
    let one_more = arguments.next().is_some();
    let seed = std::env::var("SEED").map_or(1, |text| text.parse().unwrap());
    let options = Options { seed, effort, one_more, threads: None, stop: &|| false };
    let day = plan_day(&job, &plan, &options).unwrap();
    if let Ok(file) = std::env::var("DAY") {
        std::fs::write(file, day.to_json().unwrap()).unwrap();
    }
    let passes = day.runs.iter().map(|run| run.passes).max();
    println!("{} runs of at most {} passes, {:?}", day.runs.len(), passes.unwrap_or(0), day.figures);
    if let Some(schedule) = &day.schedule {
        println!("{} s, at least {} s: {}", schedule.finish, schedule.finish_at_least, schedule.held_by);
        schedule.one_more.iter().for_each(|more| println!("{} s with {}", more.finish, more.what));
    }
}
