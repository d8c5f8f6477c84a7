//! What would make a round possible that can't be planned.

use super::exact::{Fault, Round};
use super::filling::Filling;
use super::quantities::liquors;
use class::{Class, Pourers, Tea};
use protocol::Code;

/// The nearest change that would help, as a sentence without its full stop.
pub(super) fn remedy(class: &Class, teas: &[(Code, &Tea)], problem: &Round, fault: Fault) -> String {
    match fault {
        Fault::Draw(place) => teas.get(place).map_or(String::new(), |&(code, tea)| {
            too_much(class, code, tea, problem.teas.get(place).map_or(0.0, |job| job.ml))
        }),
        _ => too_cool(teas, problem),
    }
}

/// The coolest tea is what a kettle can't come down to.
fn too_cool(teas: &[(Code, &Tea)], problem: &Round) -> String {
    let coolest = problem.teas.iter().zip(teas).min_by(|a, b| a.0.temp_c.total_cmp(&b.0.temp_c));
    coolest.map_or(String::new(), |(job, (code, tea))| {
        format!(
            "{code} ({}) asks for {} °C in a room of {} °C: give it another kettle, or water above the room's temperature",
            tea.name, job.temp_c, problem.room_c
        )
    })
}

/// A pour for which even the largest kettle is too small.
fn too_much(class: &Class, code: Code, tea: &Tea, ml: f64) -> String {
    let usable = |k: &class::setting::Kettle| Filling::of(k).usable_ml;
    let largest = class.setting.kettles.iter().max_by(|a, b| usable(a).total_cmp(&usable(b)));
    let Some(kettle) = largest else { return String::new() };
    let gives_ml = usable(kettle);
    let full_ml = (Filling::full_for(ml) / 50.0).ceil() * 50.0;
    let mut help = vec![format!("a kettle of {full_ml:.0} ml ({:.0} ml more)", full_ml - kettle.fill_ml)];
    match class.pourers {
        Pourers::EachSeat if class.setting.shared_kettles => {
            help.push("a kettle for each seat (shared_kettles = false)".into());
        }
        Pourers::EachSeat => help.push(format!("at most {gives_ml:.0} ml a vessel")),
        Pourers::Table(_) => {
            let smallest_ml = liquors(tea).iter().map(|l| l.ml).fold(f64::INFINITY, f64::min);
            // What so many vessels as the kettle can fill give each person.
            let vessels = (gives_ml / tea.water_ml).floor();
            let cup_ml = (vessels * smallest_ml / f64::from(class.seats.max(1))).floor();
            if cup_ml >= 5.0 {
                help.push(format!("cups of {cup_ml:.0} ml"));
            } else {
                help.push("less water in each vessel".into());
            }
        }
    }
    format!(
        "{code} ({}) takes {ml:.0} ml at once, and {} gives {gives_ml:.0} ml a filling. What would help: {}",
        tea.name,
        kettle.name,
        help.join(", or ")
    )
}
