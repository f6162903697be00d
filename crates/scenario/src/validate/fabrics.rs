//! Judges the fabrics.

use patchlay_measure::{Amount, Length, Per, Percent, Price, UnitSystem, width_after_washing};

use super::judge::{Judge, Range};
use super::letters::{colour_of, letters};
use crate::job::Fabric;
use crate::path::Path;
use crate::problem::Code;
use crate::spec::{self, DecimalText, LengthText, PrintDirection, TravelRule, Washing};

/// Most that cloth may shrink and most spare patches, in percent.
const MOST_PERCENT: u32 = 50;

/// Judges all fabrics; `None` for one that cannot be used.
pub(crate) fn fabrics(judge: &mut Judge<'_, '_>, scenario: &spec::Scenario) -> Vec<Option<Fabric>> {
    let list = Path::of("fabrics");
    prices(judge, &list, scenario);
    let letters = letters(judge, &list, &scenario.fabrics);
    let each = scenario.fabrics.iter().zip(letters).enumerate();
    each.map(|(at, (fabric, letter))| {
        One { path: list.element(at), fabric, scenario }.judge(judge, at, letter)
    })
    .collect()
}

/// All fabrics have a price or none has; a currency sign is short.
fn prices(judge: &mut Judge<'_, '_>, list: &Path, scenario: &spec::Scenario) {
    let any = scenario.fabrics.iter().any(|fabric| fabric.price.is_some());
    for (at, fabric) in scenario.fabrics.iter().enumerate() {
        let path = list.element(at).field("price");
        if any && fabric.price.is_none() && judge.report.readable(&path) && !brought(scenario, fabric) {
            let hint = "state a price for every fabric, 0 for a gift, or for none";
            judge.report.add(Code::PricesPartial, &path, "this fabric has no price, others have one", hint);
        }
    }
    if !any && judge.report.readable(list) {
        judge.assume("Every fabric costs the same by area, because no prices are stated", "");
    }
    let path = Path::of("currency");
    if let Some(sign) = &scenario.currency
        && judge.report.readable(&path)
        && (sign.chars().count() > 5 || sign.trim().is_empty() || sign.chars().any(char::is_control))
    {
        judge.report.add(
            Code::BadCurrency,
            &path,
            "this is not a currency sign",
            "give one to five characters, such as \"$\"",
        );
    }
}

/// Whether someone of a group brought this fabric: without a price it is a gift.
fn brought(scenario: &spec::Scenario, fabric: &spec::Fabric) -> bool {
    let group = scenario.group.as_ref();
    group.is_some_and(|group| group.brought.iter().any(|brought| brought.fabric == fabric.name))
}

/// One fabric and where it stands.
struct One<'s> {
    path: Path,
    fabric: &'s spec::Fabric,
    scenario: &'s spec::Scenario,
}

impl One<'_> {
    fn judge(&self, judge: &mut Judge<'_, '_>, at: usize, letter: Option<String>) -> Option<Fabric> {
        let fabric = self.fabric;
        let stated_width = judge.length(&self.at("usable_width"), &fabric.usable_width, Range::SIZE);
        let shrinkage = match &fabric.shrinkage_percent {
            Some(text) => percent(judge, &self.at("shrinkage_percent"), text),
            None => Some(self.assumed(judge, "No shrinkage in the wash", Percent::ZERO)),
        };
        let before = fabric.width_measured == Some(Washing::BeforeWashing);
        if fabric.width_measured.is_none() && shrinkage.is_some_and(|percent| percent > Percent::ZERO) {
            judge.assume("The usable width was measured after washing", &fabric.name);
        }
        let ply_limit = self.ply_limit(judge);
        let turning = self.print(judge);
        let selling_step = match judge.units {
            UnitSystem::Inch => Length::from_64ths(288),
            UnitSystem::Metric => Length::from_mm_tenths(1_000),
        };
        let selling_step = self.cloth(
            judge,
            "selling_step",
            &fabric.selling_step,
            Range::CLOTH,
            selling_step,
            match judge.units {
                UnitSystem::Inch => "Sold by 1/8 yd, that is in steps of",
                UnitSystem::Metric => "Sold in steps of",
            },
        );
        let inch = Length::from_64ths(64);
        let squaring = self.cloth(
            judge,
            "squaring",
            &fabric.squaring,
            Range::RESERVE,
            inch,
            "Lost to squaring before the first strip:",
        );
        let quarter = Length::from_64ths(16);
        let resquaring = self.cloth(
            judge,
            "resquaring",
            &fabric.resquaring,
            Range::RESERVE,
            quarter,
            "Lost to squaring again after every five strips:",
        );
        let half = Length::from_64ths(32);
        let end_reserve = self.cloth(
            judge,
            "end_reserve",
            &fabric.end_reserve,
            Range::RESERVE,
            half,
            "Left unused at the end of every strip:",
        );
        let kept_back = self.kept_back(judge);
        let price = self.price(judge);
        let colour = colour_of(judge, &self.at("colour"), fabric.colour.as_deref(), at);
        let width = self.width(judge, stated_width, before, shrinkage, end_reserve);
        Some(Fabric {
            name: fabric.name.clone(),
            letter: letter?,
            colour: colour?,
            stated_width: stated_width?,
            width: width?,
            width_before_washing: before,
            ply_limit: ply_limit?,
            print: fabric.print,
            folding: turning?,
            reversible: fabric.reversible,
            travel_rule: fabric.travel_rule.unwrap_or(self.scenario.rules.travel_rule),
            price: price?,
            selling_step: selling_step?,
            shrinkage: shrinkage?,
            squaring: squaring?,
            resquaring: resquaring?,
            end_reserve: end_reserve?,
            kept_back: kept_back?,
        })
    }

    fn at(&self, field: &str) -> Path {
        self.path.field(field)
    }

    fn assumed<T>(&self, judge: &mut Judge<'_, '_>, what: impl Into<String>, usual: T) -> T {
        judge.assume(what, &self.fabric.name);
        usual
    }

    fn cloth(
        &self,
        judge: &mut Judge<'_, '_>,
        field: &str,
        stated: &Option<LengthText>,
        range: Range,
        usual: Length,
        words: &str,
    ) -> Option<Length> {
        match stated {
            Some(text) => judge.length(&self.at(field), text, range),
            None => {
                let what = format!("{words} {}", judge.show(usual));
                Some(self.assumed(judge, what, usual))
            }
        }
    }

    fn ply_limit(&self, judge: &mut Judge<'_, '_>) -> Option<u32> {
        let most = self.scenario.cutter.ply_limit;
        let cutter = Path::of("cutter").field("ply_limit");
        let Some(limit) = self.fabric.ply_limit else {
            judge.assume("Stacked as high as the cutter takes", &self.fabric.name);
            return judge.report.readable(&cutter).then_some(most);
        };
        let path = self.at("ply_limit");
        let limit = judge.count(&path, limit, 1, super::cutter::MOST_PLIES)?;
        if judge.report.readable(&cutter) && limit > most {
            let problem = format!("{limit} plies are more than the {most} that the cutter takes");
            judge.report.add(
                Code::PlyLimitAboveCutter,
                &path,
                problem,
                format!("give at most {most}, or leave it out"),
            );
            return None;
        }
        Some(limit)
    }

    /// Judges the print direction; whether plies may be turned and folded.
    fn print(&self, judge: &mut Judge<'_, '_>) -> Option<bool> {
        let allowed = self.fabric.allow_turned == Some(true);
        if !judge.report.readable(&self.at("print")) {
            return None;
        }
        match self.fabric.print {
            PrintDirection::OneWay if allowed => Some(true),
            PrintDirection::OneWay => self.one_way(judge).then_some(false),
            _ if allowed => {
                let hint = "remove it, or state \"print\": \"one_way\"";
                let problem = "only a one-way print needs leave to be turned";
                judge.report.add(Code::AllowTurnedNotUsed, &self.at("allow_turned"), problem, hint);
                None
            }
            PrintDirection::Caution => {
                judge.cautions.push(format!(
                    "{} has a direction: check that patches may come out turned before it is cut.",
                    self.fabric.name
                ));
                Some(true)
            }
            PrintDirection::None => Some(true),
        }
    }

    fn one_way(&self, judge: &mut Judge<'_, '_>) -> bool {
        let own = self.at("travel_rule");
        let common = Path::of("rules").field("travel_rule");
        let (rule, readable) = match self.fabric.travel_rule {
            Some(rule) => (rule, judge.report.readable(&own)),
            None => (
                self.scenario.rules.travel_rule,
                judge.report.readable(&own) && judge.report.readable(&common),
            ),
        };
        if readable && rule == TravelRule::Either {
            let problem = "a one-way print needs one stated way, and the travel rule is \"either\"";
            let hint = "give this fabric its own \"travel_rule\", \"strip_along_travel\" or \"strip_across_travel\", \
                        or \"allow_turned\": true";
            judge.report.add(Code::OneWayEither, &own, problem, hint);
            return false;
        }
        true
    }

    fn price(&self, judge: &mut Judge<'_, '_>) -> Option<Option<Price>> {
        let path = self.at("price");
        if !judge.report.readable(&path) {
            return None;
        }
        let per = match judge.units {
            UnitSystem::Inch => Per::Yard,
            UnitSystem::Metric => Per::Metre,
        };
        let Some(text) = &self.fabric.price else {
            let gift = self.scenario.fabrics.iter().any(|fabric| fabric.price.is_some())
                && brought(self.scenario, self.fabric);
            return Some(gift.then(|| Price { amount: Amount::from_ten_thousandths(0), per }));
        };
        amount(judge, &path, text).map(|amount| Some(Price { amount, per }))
    }

    fn kept_back(&self, judge: &mut Judge<'_, '_>) -> Option<Vec<(String, Length)>> {
        let list = self.at("kept_back");
        let kept = self.fabric.kept_back.iter().enumerate().map(|(at, kept)| {
            let path = list.element(at);
            let named = judge.name(&path.field("what"), &kept.what);
            let length = judge.length(&path.field("length"), &kept.length, Range::CLOTH);
            named.then_some((kept.what.clone(), length?))
        });
        let kept: Vec<Option<(String, Length)>> = kept.collect();
        kept.into_iter().collect()
    }

    /// The width when it is cut.
    fn width(
        &self,
        judge: &mut Judge<'_, '_>,
        stated: Option<Length>,
        before: bool,
        shrinkage: Option<Percent>,
        end_reserve: Option<Length>,
    ) -> Option<Length> {
        let (stated, shrinkage, end_reserve) = (stated?, shrinkage?, end_reserve?);
        // Shrinkage is at most half, so the width after washing exists.
        let width = if before { width_after_washing(stated, shrinkage).ok()? } else { stated };
        if width <= end_reserve {
            let problem = format!("{} less the end reserve leaves nothing of a strip", judge.show(width));
            judge.report.add(
                Code::NothingLeft,
                &self.at("usable_width"),
                problem,
                "check the width and the end reserve",
            );
            return None;
        }
        Some(width)
    }
}

/// An amount of money.
pub(crate) fn amount(judge: &mut Judge<'_, '_>, path: &Path, text: &DecimalText) -> Option<Amount> {
    if !judge.report.readable(path) {
        return None;
    }
    let amount = Amount::parse(&text.typed());
    amount
        .map_err(|error| {
            judge.report.add(Code::BadNumber, path, error.to_string(), "write it like 12.95, without a sign");
        })
        .ok()
}

/// A percentage of at most half.
pub(crate) fn percent(judge: &mut Judge<'_, '_>, path: &Path, text: &DecimalText) -> Option<Percent> {
    if !judge.report.readable(path) {
        return None;
    }
    match Percent::parse(&text.typed()) {
        Err(error) => {
            judge.report.add(Code::BadNumber, path, error.to_string(), "write it like 3 or 2.5");
            None
        }
        Ok(percent) if percent.hundredths() > MOST_PERCENT * 100 => {
            let problem = format!("{percent} is too large");
            judge.report.add(
                Code::NumberOutOfRange,
                path,
                problem,
                format!("give at most {MOST_PERCENT} percent"),
            );
            None
        }
        Ok(percent) => Some(percent),
    }
}
