#include "rpc/certificate.h"

#include <algorithm>
#include <cmath>
#include <optional>
#include <set>

#include "absl/strings/ascii.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"
#include "absl/time/time.h"
#include "enum_text.h"
#include "insulation/run.h"
#include "print/figures.h"
#include "rpc/archive_times.h"
#include "rpc/insulation_run.h"
#include "rpc/reading_words.h"
#include "rpc/record_words.h"
#include "standards/rules.h"
#include "words.h"

namespace coilwright::rpc {
namespace {

using print::Figures;
using print::Percent;
using sheet::kToWrite;

std::string When(const google::protobuf::Timestamp& time, bool day_only) {
  return absl::FormatTime(day_only ? "%Y-%m-%d" : "%Y-%m-%d %H:%M UTC", absl::FromUnixMicros(MicrosOf(time)),
                          absl::UTCTimeZone());
}

double YearOf(const google::protobuf::Timestamp& time) {
  return 1970 + static_cast<double>(MicrosOf(time)) / 31556952e6;
}

// The rules of all tests, numbered in the order they are met.
class NumberedRules {
 public:
  std::string NumbersOf(const v1::JudgedTest& test) {
    std::set<size_t> numbers;
    for (const v1::RuleUse& use : test.rule_uses()) numbers.insert(NumberOf(use.rule()));
    for (const std::string& rule : {test.limit().rule(), test.guard_band_rule()}) {
      if (!rule.empty()) numbers.insert(NumberOf(rule));
    }
    return absl::StrJoin(numbers, ", ");
  }

  sheet::Table Listed() const {
    sheet::Table table;
    table.columns = {{"", true, false}, {"rule", false, false}, {"what it says", false, true}, {"source", false, true}};
    for (size_t i = 0; i < ids_.size(); ++i) {
      const standards::Rule* rule = standards::FindRule(ids_[i]);
      table.rows.push_back({absl::StrCat(i + 1), ids_[i], rule == nullptr ? "" : rule->title,
                            rule == nullptr
                                ? "of an earlier data revision"
                                : absl::StrCat(rule->source, rule->edition.empty() ? "" : ", ", rule->edition)});
    }
    return table;
  }

 private:
  size_t NumberOf(const std::string& id) {
    const auto found = std::find(ids_.begin(), ids_.end(), id);
    if (found != ids_.end()) return static_cast<size_t>(found - ids_.begin()) + 1;
    ids_.push_back(id);
    return ids_.size();
  }

  std::vector<std::string> ids_;
};

const v1::Instrument& InstrumentOf(const v1::Reading& reading) {
  const bool own = !reading.instrument().name().empty() || !reading.has_megohms();
  return own ? reading.instrument() : reading.megohms().instrument();
}

// Instruments of the readings, each once: what they were read with, and until when it may be believed.
std::vector<std::string> Instruments(const v1::JudgeReadingsRequest& request) {
  std::vector<std::string> all;
  for (const v1::Reading& reading : request.readings()) {
    const v1::Instrument& instrument = InstrumentOf(reading);
    if (instrument.name().empty()) continue;
    std::string words = instrument.name();
    absl::StrAppend(&words, instrument.calibration_due().empty()
                                ? ", calibration not stated"
                                : absl::StrCat(", calibrated until ", instrument.calibration_due()));
    if (instrument.has_uncertainty_ratio())
      absl::StrAppend(&words, ", uncertainty ", Percent(instrument.uncertainty_ratio()), " (k = 2)");
    if (std::find(all.begin(), all.end(), words) == all.end()) all.push_back(std::move(words));
  }
  if (all.empty()) all.push_back("not stated");
  return all;
}

// What did not pass is seen on any copy.
template <typename Verdict>
std::string LoudVerdict(Verdict verdict, Verdict fail) {
  const std::string words = EnumText(verdict);
  return verdict == fail ? absl::AsciiStrToUpper(words) : words;
}

void AddStage(const v1::JobReadings& readings, NumberedRules* rules, sheet::Document* document) {
  const v1::JudgeReadingsRequest& request = readings.request();
  const v1::JudgeReadingsResponse& verdicts = readings.verdicts();
  sheet::Facts facts;
  facts.pairs = {
      {"Taken", readings.has_taken_time() ? absl::StrCat(When(readings.taken_time(), readings.taken_day_only()),
                                                         readings.taken_by().empty() ? "" : " by ", readings.taken_by())
                                          : ""},
      {"Instruments", absl::StrJoin(Instruments(request), "; ")},
      {"In place of", readings.replaces()},
      {"Note", readings.note()},
      {"Verdict", readings.has_verdicts() ? verdicts.summary()
                                          : absl::StrCat("not judged: ", readings.judging_refused().message())},
      {"Rules of", verdicts.data_revision().empty() ? "" : absl::StrCat("data revision ", verdicts.data_revision())}};
  document->blocks.push_back(
      {absl::StrCat("Stage: ", EnumText(request.stage()), readings.name().empty() ? "" : ", ", readings.name()),
       std::move(facts), false});
  document->blocks.push_back({"Readings", ReadingsTable(request), false});
  sheet::Table table;
  table.columns = {{"test", false, true},
                   {"as read", true, true},
                   {"corrected", true, false},
                   {"limit", false, true},
                   {"margin, in its unit", true, false},
                   {"verdict", false, false},
                   {"rules", false, false}};
  for (const v1::JudgedTest& test : verdicts.tests()) {
    table.rows.push_back({TestWords(test), JudgedReadingWords(test, request), CorrectedWords(test), AskedWords(test),
                          test.has_margin() ? Figures(test.margin(), 3) : "",
                          LoudVerdict(test.verdict(), v1::TEST_VERDICT_FAIL), rules->NumbersOf(test)});
  }
  document->blocks.push_back({"", std::move(table), false});
  sheet::List remarks{{}, "-"};
  std::set<std::string> said;
  for (const v1::JudgedTest& test : verdicts.tests()) {
    std::vector<std::string> why = {test.points_to().begin(), test.points_to().end()};
    if (!test.reason().empty()) why.insert(why.begin(), test.reason());
    if (why.empty()) continue;
    said.insert(absl::StrCat(test.title(), ": ", test.reason()));
    remarks.items.push_back(absl::StrCat(test.title(), ": ", absl::StrJoin(why, "; ")));
  }
  // Reasons of the verdict that no test has given already.
  auto first = remarks.items.begin();
  for (const std::string& reason : verdicts.reasons()) {
    if (said.count(reason) == 0) first = remarks.items.insert(first, reason) + 1;
  }
  if (const std::string missing = MissingWords(verdicts); !missing.empty()) remarks.items.push_back(missing);
  document->blocks.push_back({"", std::move(remarks), false});
}

// The least megohms as the instrument would show them after a minute.
std::optional<sheet::Plot::Limit> LeastAsRead(const v1::RunInsulationTestResponse& end) {
  for (const v1::InsulationMark& mark : end.marks()) {
    if (mark.mark_seconds() != 60 || !mark.has_minimum_megohms_as_read()) continue;
    const double least = mark.minimum_megohms_as_read();
    return sheet::Plot::Limit{
        absl::StrCat("least at ", Figures(mark.winding_celsius()), " C: ", Figures(least), " megohms (",
                     Figures(end.minimum_megohms()), " of the whole winding at 40 C)"),
        least};
  }
  return std::nullopt;
}

// One-minute megohms that were read of the winding, where the run shows others: one of the two may be another
// machine's.
std::string OtherwiseRead(const CertifiedTests& tests) {
  const auto mark = std::find_if(tests.run_summary.marks().begin(), tests.run_summary.marks().end(),
                                 [](const v1::InsulationMark& m) { return m.mark_seconds() == 60; });
  if (mark == tests.run_summary.marks().end() || !(mark->insulation_megohms() > 0) || mark->at_least()) return "";
  std::vector<std::string> others;
  for (const v1::Reading& reading : tests.readings.back().request().readings()) {
    const v1::MegohmReading& megohms = reading.megohms();
    if (!(megohms.insulation_megohms() > 0) || megohms.over_range()) continue;
    if (insulation::MayBeTheSame(mark->insulation_megohms(), megohms.insulation_megohms())) return "";
    others.push_back(Figures(megohms.insulation_megohms()));
  }
  return others.empty() ? ""
                        : absl::StrCat(absl::StrJoin(others, ", "), " megohms of the last stage, not the ",
                                       Figures(mark->insulation_megohms()), " of this run: which is of this winding?");
}

// Megohms over the time of the voltage, as read.
void AddRun(const CertifiedTests& tests, sheet::Document* document) {
  if (tests.run.empty()) return;
  const v1::RunInsulationTestResponse& end = tests.run_summary;
  sheet::Plot plot;
  plot.x = {"seconds of test voltage", true};
  plot.y = {"megohms, as read", true};
  sheet::Plot::Series read, bounds, marks;
  read.label = "read";
  if (tests.run.size() > 60) read.mark = sheet::Plot::Mark::kNone;
  bounds.label = "at least";
  marks.label = "30 s, 60 s, 10 min";
  bounds.line = marks.line = false;
  bounds.mark = marks.mark = sheet::Plot::Mark::kRing;
  for (const v1::InsulationSample& sample : tests.run) {
    const double megohms = insulation::MegohmsOf(ReadSample(sample)).value_or(0.0);
    if (megohms > 0) (sample.over_range() ? bounds : read).points.emplace_back(sample.seconds(), megohms);
  }
  sheet::Facts facts;
  for (const v1::InsulationMark& mark : end.marks()) {
    if (!mark.has_insulation_megohms()) continue;
    marks.points.emplace_back(mark.run_seconds(), mark.insulation_megohms());
    const std::string least = mark.at_least() ? "at least " : "";
    facts.pairs.emplace_back(
        absl::StrCat("After ", Figures(mark.mark_seconds()), " s"),
        absl::StrCat(least, Figures(mark.insulation_megohms()), " megohms as read",
                     mark.has_corrected_megohms_40c()
                         ? absl::StrCat(", ", least, Figures(mark.corrected_megohms_40c()), " megohms at 40 C")
                         : ", not corrected"));
  }
  for (sheet::Plot::Series* series : {&read, &bounds, &marks}) {
    if (!series->points.empty()) plot.series.push_back(std::move(*series));
  }
  const std::string least = absl::StrCat("least at 40 C: ", Figures(end.minimum_megohms()), " megohms");
  const auto limit = LeastAsRead(end);
  if (limit) plot.limits.push_back(*limit);
  document->blocks.push_back({"Insulation run", std::move(plot), false});
  const auto ratio = [](const v1::MegohmRatio& r) {
    return r.has_value() ? absl::StrCat(Figures(r.value(), 3),
                                        r.has_minimum() ? absl::StrCat(", at least ", Figures(r.minimum())) : "")
                         : r.reason();
  };
  facts.pairs.emplace_back("60 s over 30 s", end.has_absorption_ratio() ? ratio(end.absorption_ratio()) : "");
  facts.pairs.emplace_back("10 min over 1 min", end.has_polarization_index() ? ratio(end.polarization_index()) : "");
  if (!limit)
    facts.pairs.emplace_back("Limit", absl::StrCat(least, "; not drawn beside readings that are not corrected"));
  if (end.has_judged())
    facts.pairs.emplace_back(
        "Verdict of the run",
        absl::StrCat(LoudVerdict(end.judged().verdict(), v1::MEGOHM_VERDICT_FAIL), ": ", end.judged().reason()));
  facts.pairs.emplace_back("But read", OtherwiseRead(tests));
  if (end.has_last_volts_dc()) facts.pairs.emplace_back("Voltage", absl::StrCat(Figures(end.last_volts_dc()), " V dc"));
  if (end.discharge_seconds() > 0)
    facts.pairs.emplace_back("Earth it afterwards",
                             absl::StrCat("for at least ", Figures(end.discharge_seconds()), " s"));
  for (const v1::RunAdvice& advice : end.advice())
    facts.pairs.emplace_back(advice.stop() ? "Stopped" : "Seen",
                             absl::StrCat("at ", Figures(advice.seen_at_seconds()), " s: ", advice.reason()));
  document->blocks.push_back({"", std::move(facts), false});
}

void AddTrend(const v1::GetMegohmTrendResponse& trend, sheet::Document* document) {
  if (trend.points_size() < 2) return;
  const google::protobuf::Timestamp& first = trend.points(0).taken_time();
  const bool short_time = YearOf(trend.points(trend.points_size() - 1).taken_time()) - YearOf(first) < 2;
  const auto along = [&](double year) { return short_time ? 12 * (year - YearOf(first)) : year; };
  sheet::Plot plot;
  plot.x = {short_time ? absl::StrCat("months since ", When(first, true)) : "year", false};
  plot.y = {"megohms at 40 C", true};
  plot.height_mm = 45;
  sheet::Plot::Series read, bounds, left_out, fitted;
  read.label = "read";
  bounds.label = "at least";
  bounds.mark = sheet::Plot::Mark::kRing;
  left_out.label = "left out of the fit";
  left_out.mark = sheet::Plot::Mark::kCross;
  read.line = bounds.line = left_out.line = false;
  double last = 0;  // reading of the fit
  for (const v1::TrendPoint& point : trend.points()) {
    if (!point.has_corrected_megohms_40c()) continue;
    const double year = YearOf(point.taken_time());
    if (point.fitted()) last = std::max(last, year);
    (point.at_least()                     ? bounds
     : point.fitted() || !trend.has_fit() ? read
                                          : left_out)
        .points.emplace_back(along(year), point.corrected_megohms_40c());
  }
  fitted.label = "fit";
  fitted.mark = sheet::Plot::Mark::kNone;
  fitted.dashes_mm = {0.6, 0.8};
  if (trend.has_fit()) {
    for (const double years : {trend.fit().years(), 0.0})
      fitted.points.emplace_back(along(last - years), trend.fit().megohms_at_last() *
                                                          std::pow(trend.fit().ratio_per_year().nominal(), -years));
  }
  for (sheet::Plot::Series* series : {&read, &bounds, &left_out, &fitted}) {
    if (!series->points.empty()) plot.series.push_back(std::move(*series));
  }
  plot.limits.push_back(
      {absl::StrCat("least: ", Figures(trend.minimum_megohms()), " megohms"), trend.minimum_megohms()});
  document->blocks.push_back({"Megohms of this machine over the years, corrected alike", std::move(plot), false});
  const auto month = [](const google::protobuf::Timestamp& time) { return When(time, true).substr(0, 7); };
  const v1::TrendCrossing& crossing = trend.crossing();
  const v1::Band& ratio = trend.fit().ratio_per_year();
  document->blocks.push_back(
      {"",
       sheet::Facts{{{"Slope", trend.has_fit() ? absl::StrCat("times ", Figures(ratio.nominal(), 3), " a year (",
                                                              Figures(ratio.low(), 3), " to ", Figures(ratio.high(), 3),
                                                              "), ", trend.fit().points(), " visits")
                                               : ""},
                     {"Forecast", trend.has_crossing() ? absl::StrCat("at the least, if it goes on so: likeliest ",
                                                                      month(crossing.likeliest()), ", not before ",
                                                                      month(crossing.earliest()))
                                                       : absl::StrCat("none: ", trend.no_forecast())}}},
       false});
}

}  // namespace

sheet::Document TestCertificate(const CertifiedTests& tests, const std::string& code) {
  sheet::Document document;
  document.title = "Test certificate";
  document.subtitle = tests.title;
  document.code = code;
  document.warnings = tests.cautions;
  FactList machine = {{"Job", tests.job}, {"Customer", tests.customer}};
  for (auto& fact : MachineFacts(tests.machine)) machine.push_back(std::move(fact));
  document.blocks.push_back({"Machine", sheet::Facts{std::move(machine)}, false});
  if (!tests.readings.empty()) {
    // Of the stage that the winding has come to.
    const v1::JobReadings& last = tests.readings.back();
    if (last.has_verdicts() && last.verdicts().verdict() != v1::WINDING_VERDICT_SOUND)
      document.warnings.push_back(
          absl::StrCat("Stage ", EnumText(last.request().stage()), ": ", last.verdicts().summary()));
  }
  if (tests.run_summary.judged().verdict() == v1::MEGOHM_VERDICT_FAIL)
    document.warnings.push_back(absl::StrCat("Insulation run: FAIL: ", tests.run_summary.judged().reason()));
  std::string revision;
  NumberedRules rules;
  for (const v1::JobReadings& readings : tests.readings) {
    AddStage(readings, &rules, &document);
    revision = readings.verdicts().data_revision();
  }
  AddRun(tests, &document);
  AddTrend(tests.trend, &document);
  if (!tests.release.person().empty()) {
    const v1::SignOff& release = tests.release;
    document.blocks.push_back(
        {"Released",
         sheet::Facts{{{"By", absl::StrCat(release.person(), ", ", release.qualification())},
                       {"When", When(release.time(), false)},
                       {"Statement", release.statement()},
                       {"On readings", release.readings()},
                       {"Verdict then",
                        release.verdict() == v1::WINDING_VERDICT_UNSPECIFIED ? "none" : EnumText(release.verdict())},
                       {"Although that was not sound", release.despite_verdict()}}},
         false});
  }
  document.blocks.push_back({"Signed", sheet::Facts{}, false});
  document.blocks.push_back({"", sheet::Facts{{{"Measured by, date", kToWrite}}}, true});
  document.blocks.push_back({"", sheet::Facts{{{"Released by, date", kToWrite}}}, true});
  sheet::List cautions{{}, "!"};
  std::set<std::string> said;
  for (const v1::JobReadings& readings : tests.readings) {
    for (const std::string& caution : readings.verdicts().cautions()) {
      if (said.insert(caution).second) cautions.items.push_back(caution);
    }
  }
  if (!cautions.items.empty()) document.blocks.push_back({"Cautions", std::move(cautions), false});
  document.blocks.push_back({"Rules", rules.Listed(), false});
  document.footer = absl::StrCat("Coilwright, data revision ", revision);
  return document;
}

}  // namespace coilwright::rpc
