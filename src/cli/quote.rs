//! `quote`: hours and cost of work that isn't won yet.

use std::path::PathBuf;

use clap::ValueEnum;

use super::changes::Changes;
use super::page::Page;
use super::stop::{Ours, Typed};
use super::units::{refuse_handed_over, show_in};
use super::watching::Watching;
use super::{Exit, JobFiles, Output, Stop, hand_over, seconds, site, tell};
use crate::door::{self, Asked, quote_work};
use crate::estimate::{Offer, Source, Terms, Want, price};
use crate::planner::Effort;
use crate::printable::printable_json;
use crate::report::{CustomerReport, QuoteReport, Report, customer_page, quote_page, to_csv};
use crate::text::Request;

#[derive(Debug, clap::Args)]
pub(super) struct QuoteArguments {
    /// Job files; none needs a yard: with no cylinders at all a list of trade sizes is planned with; - is standard input
    #[arg(required = true, value_name = "JOB")]
    jobs: Vec<PathBuf>,
    /// Where cylinders come from
    #[arg(long, value_enum, default_value_t = From::Both)]
    from: From,
    /// Take the lowest likely cost of the ways looked at, not the fewest cylinders
    #[arg(long)]
    cheapest: bool,
    /// Print one page for the customer
    #[arg(long, conflicts_with = "csv")]
    customer: bool,
    /// Make the customer's page though something has no price yet, with DRAFT across it
    #[arg(long, requires = "customer")]
    draft: bool,
    /// Print the quote as CSV
    #[arg(long, conflicts_with = "json")]
    csv: bool,
    #[command(flatten)]
    pub(super) changes: Changes,
    /// Seconds for all plans together, after which each is the best so far
    #[arg(long, value_name = "SECONDS", default_value_t = 10.0, value_parser = seconds)]
    time_limit: f64,
    #[command(flatten)]
    page: Page,
    #[command(flatten)]
    files: JobFiles,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum From {
    /// The yard and the stock
    Both,
    /// The yard alone
    Yard,
    /// The stock alone
    Stock,
}

pub(super) fn run(arguments: &QuoteArguments, output: &mut Output) -> Result<Exit, Stop> {
    refuse_handed_over(arguments.csv || arguments.customer, output)?;
    arguments.page.check(output)?;
    let request = Request { jobs: &arguments.jobs, today: &output.today, skip_bad_rows: arguments.files.skip_bad_rows };
    let opened = door::open(&request, false, &site::keep(None, output)?)?;
    tell(&opened, output);
    let loaded = opened.loaded;
    let work = arguments.changes.to(loaded.work, output)?;
    let terms: Vec<Terms> = loaded.extras.into_iter().map(|extras| extras.terms).collect();
    one_currency(&terms, arguments.cheapest)?;
    let offer = Offer::of_all(terms.iter().map(|terms| &terms.offer)).map_err(Typed::from)?;
    let source = match arguments.from {
        From::Both => Source::Both,
        From::Yard => Source::Yard,
        From::Stock => Source::Stock,
    };
    let want = if arguments.cheapest { Want::Cheapest } else { Want::Fewest };
    let mut watching = Watching::start(arguments.time_limit, work.division(), output);
    let asked = Asked { work: &work, terms: &terms, source, want, effort: Effort::within(arguments.time_limit) };
    let quoted = quote_work(&asked, &mut |progress| watching.go_on(progress));
    watching.finish(output);
    let quoted = quoted?;
    output.planned(quoted.ways.iter().flat_map(|way| &way.pools).map(|pool| pool.plan.plan()));
    let chosen = quoted.ways.get(quoted.chosen).ok_or(Ours::NoOffer)?;
    let price = price(&work, chosen, &offer, &terms);
    let report =
        QuoteReport::new(&work, &quoted, want, &offer, price.as_ref(), &loaded.skipped).ok_or(Ours::NoOffer)?;
    let whole = chosen.is_whole();
    if arguments.customer {
        output.say_danger();
        if !report.open().is_empty() {
            if !arguments.draft {
                return Err(Stop::NoCustomerPage { open: report.open().to_vec() });
            }
            output.say(&format!("a draft, which lacks:\n- {}", report.open().join("\n- ")))?;
        }
        let places: Vec<Option<String>> = terms.iter().map(|terms| terms.offer.to.site.clone()).collect();
        let today = *output.today;
        let report = CustomerReport::new(&work, chosen, price.as_ref(), &offer, &places, today, arguments.draft);
        let page = arguments.page.draw(&loaded.inputs, |_| customer_page(&report));
        if arguments.files.json {
            // Without what the house's cylinders are in.
            let text = serde_json::to_string_pretty(&report).map_err(|error| Stop::Write(error.into()))?;
            writeln!(output.data, "{}", printable_json(&text))?;
            output.data.flush()?;
        } else {
            hand_over(&report.blocks(), output)?;
        }
        arguments.page.write(page.as_deref(), output)?;
        return Ok(if whole { Exit::Done } else { Exit::No });
    }
    let alarms = output.alarms().cloned().unwrap_or_default();
    let page = arguments.page.draw(&loaded.inputs, |inputs| quote_page(&report, &alarms.blocks(), &inputs));
    if arguments.csv {
        output.say_danger();
        let text = to_csv(&report, &alarms).map_err(Ours::from)?;
        output.data.write_all(text.as_bytes())?;
        output.data.flush()?;
    } else {
        show_in(report, work.division().unit(), arguments.files.json, output)?;
    }
    arguments.page.write(page.as_deref(), output)?;
    Ok(if whole { Exit::Done } else { Exit::No })
}

/// Sums need one currency, and a choice by cost needs prices.
pub(super) fn one_currency(terms: &[Terms], by_cost: bool) -> Result<(), Stop> {
    let mut currencies: Vec<&str> = terms.iter().filter_map(|terms| terms.prices.currency.as_deref()).collect();
    currencies.dedup();
    if currencies.len() > 1 {
        return Err(Typed::Currencies { currencies: currencies.into_iter().map(str::to_owned).collect() }.into());
    }
    if currencies.is_empty() && by_cost {
        return Err(Typed::NoPrices.into());
    }
    Ok(())
}
