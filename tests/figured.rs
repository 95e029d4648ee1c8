//! Two quotes figured again, from their files alone: hours, days, hire and whose it is, credit, margin, tax, rounding and
//! every split, each line to the cent. Of the program's answer only the cylinders are taken, with what goes into each.

use std::fs;

use chargesplit::quantity::Decimal;
use serde_json::Value;

use crate::folder::run;

/// Low, likely, high.
type Three = [Decimal; 3];

fn decimal(text: &str) -> Decimal {
    text.trim().parse().unwrap_or_else(|error| panic!("{text}: {error}"))
}

/// A figure as a file has it, one or three of them, without its unit; hours in minutes.
fn three(value: &Value) -> Three {
    let text = value.as_str().map_or_else(|| value.to_string(), str::to_owned);
    let number = |part: &str| decimal(part.trim_end_matches(|c: char| !c.is_ascii_digit()));
    let hours = if text.ends_with(" h") { Decimal::from(60) } else { Decimal::ONE };
    let text = text.split(" per ").next().unwrap();
    let all: Vec<Decimal> = text.split("..").map(|part| number(part) * hours).collect();
    if all.len() == 3 { [all[0], all[1], all[2]] } else { [all[0]; 3] }
}

fn each(figure: impl Fn(usize) -> Decimal) -> Three {
    std::array::from_fn(figure)
}

fn cents(amount: Decimal) -> Decimal {
    let hundredths = amount.abs() * Decimal::ONE_HUNDRED + Decimal::new(5, 1);
    hundredths.floor() / Decimal::ONE_HUNDRED * if amount.is_sign_negative() { -Decimal::ONE } else { Decimal::ONE }
}

fn yaml(path: &str) -> Value {
    serde_yaml::from_str(&fs::read_to_string(path).unwrap()).unwrap()
}

/// A job's map over that of the rates.
fn over(job: &Value, rates: &Value, key: &str) -> Value {
    let mut all = rates[key].as_object().cloned().unwrap_or_default();
    all.extend(job[key].as_object().cloned().unwrap_or_default());
    Value::Object(all)
}

/// A part of each that adds up: whole steps by weight, what is left to the largest rests.
fn parts(whole: Decimal, step: Decimal, weights: &[Decimal]) -> Vec<Decimal> {
    let steps = whole / step;
    let all: Decimal = weights.iter().sum();
    let exact: Vec<Decimal> = weights.iter().map(|weight| steps * weight / all).collect();
    let mut given: Vec<Decimal> = exact.iter().map(Decimal::floor).collect();
    while given.iter().sum::<Decimal>() < steps {
        let rest = |index: &usize| (exact[*index] - given[*index], std::cmp::Reverse(*index));
        let next = (0..given.len()).max_by_key(rest).unwrap();
        given[next] += Decimal::ONE;
    }
    given.into_iter().map(|steps| steps * step).collect()
}

struct System {
    name: String,
    lot: String,
    refrigerant: String,
    burnt: bool,
    charge: Three,
    minutes: Three,
}

/// One cylinder's part at one site.
struct Fill {
    cylinder: usize,
    before: Decimal,
    after: Decimal,
    begun: bool,
}

struct Site {
    name: String,
    labour: Value,
    prices: Value,
    offer: Value,
    access: String,
    one_person: Decimal,
    systems: Vec<System>,
    fills: Vec<Fill>,
    elapsed: Three,
    days: Three,
    crew: Three,
    hoisted: usize,
    overtime: Three,
}

fn system(system: &Value, labour: &Value) -> System {
    let text = |key: &str| system[key].as_str().unwrap_or_default().to_owned();
    let more = system.get("allowance").map_or(Decimal::ZERO, |share| three(share)[0] / Decimal::ONE_HUNDRED);
    let (low, high) = match text("charge").split_once("..") {
        Some((low, high)) => (decimal(low), three(&high.into())[0]),
        None => (three(&system["nameplate"])[0], three(&system["nameplate"])[0]),
    };
    let charge = [low, (low + high) / Decimal::TWO, high * (Decimal::ONE + more)];
    let of = |key: &str| three(&labour[key]);
    let part = |share: Decimal| share / Decimal::ONE_HUNDRED;
    let recovery = each(|at| {
        let off = Decimal::ONE - part(of("derating")[at]);
        let vapour = part(of("vapour_share")[at]);
        let liquid = charge[at] * (Decimal::ONE - vapour) / (three(&labour["liquid_rate"])[0] * off);
        (liquid + charge[at] * vapour / (three(&labour["vapour_rate"])[0] * off)).ceil()
    });
    let minutes = each(|at| of("hook_up")[at] + recovery[at] + of("pull_down")[at] + of("leak_check")[at]);
    let burnt = text("condition") == "burnout";
    let refrigerant = text("refrigerant");
    let lot = if burnt { format!("{refrigerant} burnout") } else { refrigerant.clone() };
    System { name: text("name"), lot, refrigerant, burnt, charge, minutes }
}

fn site(job: &Value, rates: &Value) -> Site {
    let labour = over(job, rates, "labour");
    let weight = |value: &Value| three(value)[0];
    Site {
        name: job["job"].as_str().unwrap().into(),
        systems: job["systems"].as_array().unwrap().iter().map(|one| system(one, &labour)).collect(),
        prices: over(job, rates, "prices"),
        offer: over(job, rates, "offer"),
        access: job["site"]["access"].as_str().unwrap().into(),
        one_person: weight(&job["site"]["one_person"]),
        labour,
        fills: Vec::new(),
        elapsed: [Decimal::ZERO; 3],
        days: [Decimal::ZERO; 3],
        crew: [Decimal::ZERO; 3],
        hoisted: 0,
        overtime: [Decimal::ZERO; 3],
    }
}

/// Pours the systems of each refrigerant, one after another, into its cylinders, one after another.
fn pour(sites: &mut [Site], quote: &Value) {
    let number = |value: &Value| decimal(&value.to_string());
    let cylinders = quote["cylinders"].as_array().unwrap();
    let mut lots: Vec<String> = sites.iter().flat_map(|site| &site.systems).map(|system| system.lot.clone()).collect();
    lots.sort();
    lots.dedup();
    for lot in lots {
        let mut open: Vec<(usize, Decimal, Decimal)> = (cylinders.iter().enumerate())
            .filter(|(_, one)| one["lot"] == lot.as_str())
            .map(|(index, one)| (index, number(&one["now"]), number(&one["stop"])))
            .collect();
        open.reverse();
        // Rounded up to a tenth of a pound once, over all that came before.
        let (mut exact, mut placed) = (Decimal::ZERO, Decimal::ZERO);
        for site in sites.iter_mut() {
            let mut left = Decimal::ZERO;
            for system in site.systems.iter().filter(|system| system.lot == lot) {
                exact += system.charge[2];
                let until_here = (exact * Decimal::TEN).ceil() / Decimal::TEN;
                left += until_here - placed;
                placed = until_here;
            }
            while left > Decimal::ZERO {
                let (cylinder, now, stop) = open.pop().expect("it all fits");
                let after = stop.min(now + left);
                let begun = number(&cylinders[cylinder]["now"]) == now;
                site.fills.push(Fill { cylinder, before: now, after, begun });
                left -= after - now;
                if after < stop {
                    open.push((cylinder, after, stop));
                }
            }
        }
        assert!(open.is_empty(), "a cylinder of {lot} is filled by nobody");
    }
}

impl Site {
    fn figure(&self, key: &str) -> Three {
        three(&self.labour[key])
    }

    fn price(&self, key: &str) -> Option<Three> {
        self.prices.get(key).map(three)
    }

    fn people(&self) -> Decimal {
        self.figure("crew")[0]
    }

    fn time(&mut self) {
        let stairs = Decimal::new(7, 1);
        let hoisted = |weight: Decimal| match self.access.as_str() {
            "hoist" => true,
            "stairs" => weight > self.one_person * Decimal::TWO,
            _ => false,
        };
        let heavy = |weight: Decimal| match self.access.as_str() {
            "stairs" => weight > self.one_person * stairs,
            _ => weight > self.one_person,
        };
        let ways: Vec<Decimal> = self.fills.iter().flat_map(|fill| [fill.before, fill.after]).collect();
        self.hoisted = ways.iter().filter(|way| hoisted(**way)).count();
        let has_hoist = self.prices.get("hoist").is_some();
        let carried: Vec<Decimal> = ways.iter().copied().filter(|way| !(has_hoist && hoisted(*way))).collect();
        let alone = self.people() == Decimal::ONE;
        let helped = carried.iter().filter(|way| alone && heavy(**way)).count();
        let floors = self.labour.get("floors").map_or(Decimal::ONE, |floors| three(floors)[0]);
        let (count, begun) = (self.fills.len(), self.fills.iter().filter(|fill| fill.begun).count());
        let times = |count: usize, key: &str, at: usize| Decimal::from(count) * self.figure(key)[at];
        assert_eq!(self.figure("machines")[0], Decimal::ONE, "one after the other");
        let on_site = each(|at| {
            self.systems.iter().map(|system| system.minutes[at]).sum::<Decimal>()
                + times(count, "cylinder_change", at)
                + times(carried.len(), "carry", at) * floors
                + times(begun, "label", at)
                + self.figure("paperwork")[at]
        });
        let day = self.labour.get("day").map_or(Decimal::from(480), |day| three(day)[0]);
        let beside = each(|at| self.figure("travel")[at] + self.figure("set_up")[at]);
        let days = each(|at| (on_site[at] / (day - beside[at])).ceil());
        let elapsed = each(|at| on_site[at] + days[at] * beside[at]);
        let crew = each(|at| elapsed[at] * self.people() + times(helped, "carry", at) * floors);
        (self.days, self.elapsed, self.crew) = (days, elapsed, crew);
        if let Some(overtime) = self.prices.get("overtime") {
            let after = three(&overtime["after"])[0];
            let beyond = |minutes: Decimal| (minutes - after).max(Decimal::ZERO);
            self.overtime = each(|at| {
                let full = self.days[at] - Decimal::ONE;
                full * beyond(day) + beyond(self.elapsed[at] - full * day)
            });
        }
    }
}

/// A line of the cost: what, amounts, whether it is a credit.
type Line = (String, Three, bool);

fn lines(site: &Site, hire: Vec<Line>) -> Vec<Line> {
    let sixty = Decimal::from(60);
    let mut lines: Vec<Line> = Vec::new();
    let labour = site.price("labour").unwrap();
    let mut add =
        |what: &str, amount: Three| lines.push((what.into(), each(|at| cents(amount[at])), what.starts_with("credit")));
    let pay = each(|at| site.crew[at] * labour[at] / sixty);
    add("labour", pay);
    if let Some(overtime) = site.prices.get("overtime") {
        let more = three(&overtime["rate"])[0] / Decimal::ONE_HUNDRED - Decimal::ONE;
        add("overtime", each(|at| site.overtime[at] * site.people() * labour[at] * more / sixty));
    }
    if let Some(premium) = site.price("after_hours_premium") {
        add("after-hours premium", each(|at| cents(pay[at]) * premium[at] / Decimal::ONE_HUNDRED));
    }
    add("recovery machine", site.price("machine").unwrap());
    add("freight", site.price("freight").unwrap());
    add("oil disposal", each(|at| site.price("oil_disposal").unwrap()[at] * Decimal::from(site.systems.len())));
    if site.hoisted > 0 {
        add("hoist", site.price("hoist").unwrap());
    }
    let mut lots: Vec<&System> = Vec::new();
    for system in &site.systems {
        if !lots.iter().any(|known| known.lot == system.lot) {
            lots.push(system);
        }
    }
    for lot in lots {
        let of = site.systems.iter().filter(|system| system.lot == lot.lot);
        let weight = each(|at| of.clone().map(|system| system.charge[at]).sum());
        if lot.burnt {
            let price = site.price("disposal").unwrap();
            add(&format!("disposal of {}", lot.lot), each(|at| price[at] * weight[at]));
            continue;
        }
        let all = site.prices["reclaim"].as_array().unwrap();
        let found = all.iter().find(|one| one["refrigerant"] == lot.refrigerant.as_str()).unwrap();
        if let Some(fee) = found.get("fee") {
            add(&format!("reclaim of {}", lot.lot), each(|at| three(fee)[at] * weight[at]));
        } else {
            // The best price stands in the lows.
            let credit = three(&found["credit"]);
            add(&format!("credit for {}", lot.lot), each(|at| -credit[2 - at] * weight[at]));
        }
    }
    lines.extend(hire);
    let share = site.price("contingency").unwrap()[0] / Decimal::ONE_HUNDRED;
    let sum = each(|at| lines.iter().filter(|line| !line.2).map(|line| line.1[at]).sum::<Decimal>());
    lines.push(("contingency".into(), each(|at| cents(sum[at] * share)), false));
    lines
}

/// The hire of every site: a cylinder that several fill is for all the days between them, and each pays by its hours.
fn hires(sites: &[Site], stock: &Value, quote: &Value) -> Vec<Vec<Line>> {
    let mut all: Vec<Vec<Line>> = sites.iter().map(|_| Vec::new()).collect();
    for kind in stock.as_array().unwrap() {
        let name = kind["name"].as_str().unwrap();
        let price = three(&kind["hire"]);
        let period = if kind["hire"].as_str().unwrap().ends_with("week") { Decimal::from(7) } else { Decimal::ONE };
        let mut groups: Vec<(Vec<usize>, u32)> = Vec::new();
        for (cylinder, one) in quote["cylinders"].as_array().unwrap().iter().enumerate() {
            if !one["cylinder"].as_str().unwrap().starts_with(&format!("{name} #")) {
                continue;
            }
            let fills = |site: &usize| sites[*site].fills.iter().any(|fill| fill.cylinder == cylinder);
            let users: Vec<usize> = (0..sites.len()).filter(fills).collect();
            match groups.iter_mut().find(|(known, _)| *known == users) {
                Some((_, count)) => *count += 1,
                None => groups.push((users, 1)),
            }
        }
        for (users, count) in groups {
            let days = each(|at| {
                let stated = users.iter().map(|site| sites[*site].price("hire_days").unwrap()[at]).max().unwrap();
                let work = (users[0]..=users[users.len() - 1]).map(|site| sites[site].days[at]).sum::<Decimal>();
                stated.max(work)
            });
            let amount = each(|at| price[at] * (days[at] / period).ceil() * Decimal::from(count));
            let weights: Vec<Decimal> = users.iter().map(|site| sites[*site].elapsed[1]).collect();
            let shares = [0, 1, 2].map(|at| parts(amount[at], Decimal::new(1, 2), &weights));
            for (index, site) in users.iter().enumerate() {
                all[*site].push((format!("hire of {name}"), each(|at| shares[at][index]), false));
            }
        }
    }
    all
}

fn shown(value: &Value, keys: [&str; 3]) -> Three {
    keys.map(|key| decimal(value[key].as_str().unwrap()))
}

/// Figures the quote of these jobs again and compares all of it.
fn figured(jobs: &[&str], options: &[&str]) {
    let quote = run([&["quote", "--json"], jobs, options].concat()).is(0).json();
    let files: Vec<Value> = jobs.iter().map(|job| yaml(job)).collect();
    let rates = files[0]["rates"].as_str().map_or(Value::Null, |file| yaml(&format!("scenarios/{file}")));
    let stock = if rates.is_null() { &files[0]["stock"] } else { &rates["stock"] };
    let mut sites: Vec<Site> = files.iter().map(|job| site(job, &rates)).collect();
    let chosen = quote["ways"].as_array().unwrap().iter().find(|way| way["chosen"] == true).unwrap();
    assert_eq!(chosen["plans"], 1, "this knows one plan for all");
    pour(&mut sites, &quote);
    sites.iter_mut().for_each(Site::time);
    let keys = ["low", "likely", "high"];
    let hires = hires(&sites, stock, &quote);
    let (mut total, mut subtotal) = ([Decimal::ZERO; 3], [Decimal::ZERO; 2]);
    for ((index, site), hire) in sites.iter().enumerate().zip(hires) {
        let hours = &quote["hours"][index];
        assert_eq!(shown(&hours["days"], keys), site.days, "{}", site.name);
        assert_eq!(shown(&hours["elapsed_minutes"], keys), site.elapsed, "{}", site.name);
        assert_eq!(shown(&hours["crew_minutes"], keys), site.crew, "{}", site.name);
        let lines = lines(site, hire);
        let theirs: Vec<&Value> = quote["cost"]["lines"]
            .as_array()
            .unwrap()
            .iter()
            .filter(|line| line["job"] == site.name.as_str())
            .collect();
        assert_eq!(theirs.len(), lines.len(), "{}", site.name);
        let mut theirs: Vec<(String, Three, bool)> = theirs
            .iter()
            .map(|line| {
                let what = line["what"].as_str().unwrap().to_owned();
                (what, shown(&line["amount"], keys), line["credit"].as_bool().unwrap())
            })
            .collect();
        let mut ours = lines.clone();
        ours.sort();
        theirs.sort();
        assert_eq!(theirs, ours, "{}", site.name);
        total = each(|at| total[at] + lines.iter().map(|line| line.1[at]).sum::<Decimal>());
        let costs = each(|at| lines.iter().filter(|line| !line.2).map(|line| line.1[at]).sum());
        let price = price(site, costs);
        let theirs = &quote["price"]["sites"][index];
        assert_eq!(between(&theirs["price"]), price, "{}", site.name);
        let step = three(&site.offer["round_to"])[0];
        let weights: Vec<Decimal> = site.systems.iter().map(|system| system.minutes[1]).collect();
        let shares = price.map(|price| parts(price, step, &weights));
        for (at, system) in site.systems.iter().enumerate() {
            let theirs = &theirs["systems"][at];
            assert_eq!(
                (theirs["system"].as_str().unwrap(), between(&theirs["price"])),
                (&*system.name, [shares[0][at], shares[1][at]])
            );
            let up_to = if site.offer["price"] == "range" { system.charge[2] } else { system.charge[1] };
            assert_eq!(three(&theirs["up_to"])[0], up_to, "{}", system.name);
        }
        subtotal = [subtotal[0] + price[0], subtotal[1] + price[1]];
    }
    assert_eq!(shown(&quote["cost"]["total"], keys), total);
    let share = three(&sites[0].offer["tax"])[0] / Decimal::ONE_HUNDRED;
    let tax = subtotal.map(|price| cents(price * share));
    assert_eq!(between(&quote["price"]["subtotal"]), subtotal);
    assert_eq!(between(&quote["price"]["tax"]), tax);
    assert_eq!(between(&quote["price"]["total"]), [subtotal[0] + tax[0], subtotal[1] + tax[1]]);
}

fn between(value: &Value) -> [Decimal; 2] {
    ["low", "high"].map(|key| decimal(value[key].as_str().unwrap()))
}

/// The cost is what the margin leaves of the price, which goes up to the next step.
fn price(site: &Site, costs: Three) -> [Decimal; 2] {
    let offer = &site.offer;
    let (step, margin) = (three(&offer["round_to"])[0], three(&offer["margin"])[0] / Decimal::ONE_HUNDRED);
    let range = offer["price"] == "range";
    let ends = if range { [costs[0], costs[2]] } else { [costs[1]; 2] };
    ends.map(|cost| (cost / (Decimal::ONE - margin) / step).ceil() * step)
}

#[test]
fn an_offer_for_two_sites_with_shared_rates_is_figured_again_to_the_cent() {
    figured(&["scenarios/offer-1.yaml", "scenarios/offer-2.yaml"], &[]);
    figured(&["scenarios/offer-2.yaml"], &[]);
}

#[test]
fn a_tender_with_own_and_hired_cylinders_is_figured_again_to_the_cent() {
    figured(&["scenarios/tender.yaml"], &[]);
    figured(&["scenarios/tender.yaml"], &["--cheapest"]);
}
