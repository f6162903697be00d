fn main() {
    let path = std::env::args().nth(1).unwrap();
    let effort = std::env::args().nth(2).map_or(1, |t| t.parse().unwrap());
    let plan = patchlay_plan::Plan::from_json(&std::fs::read_to_string(path).unwrap()).unwrap();
    let (_, job) = patchlay_scenario::load(&plan.scenario.to_string()).unwrap();
    let plan = patchlay_group::resupplied(&job, job.group.as_ref().unwrap(), &plan);
    let t = std::time::Instant::now();
    let options = patchlay_group::Options {
        seed: 1,
        effort,
        one_more: std::env::args().len() > 3,
        threads: None,
        stop: &|| false,
    };
    let day = patchlay_group::plan_day(&job, &plan, &options).unwrap();
    println!("{:?} {:?}", t.elapsed(), day.figures);
    let s = day.schedule.as_ref().unwrap();
    println!(
        "{} >= {} {:.2}% {} tasks {}",
        s.finish,
        s.finish_at_least,
        100.0 * (s.finish as f64 / s.finish_at_least as f64 - 1.0),
        s.held_by,
        s.tasks.len()
    );
    for more in &s.one_more {
        println!("  {} {}", more.what, more.finish);
    }
    if let Some(m) = &day.money {
        println!("{} {:?}", m.total, &m.bags[..5]);
    }
    std::fs::write("/tmp/day.json", day.to_json().unwrap()).unwrap();
}
