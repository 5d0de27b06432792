#include <algorithm>
#include <cmath>
#include <ctime>
#include <set>
#include <utility>
#include <vector>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"
#include "absl/strings/str_replace.h"
#include "archive_text.h"
#include "coilwright/v1/job_service.pb.h"
#include "command.h"
#include "plot.h"
#include "request.h"
#include "rules_print.h"
#include "test_choice.h"
#include "text.h"

namespace coilwright::cli {
namespace {

constexpr double kSecondsPerYear = 365.2425 * 86400;

double Year(const google::protobuf::Timestamp& time) {
  return 1970 + (static_cast<double>(time.seconds()) + 1e-9 * time.nanos()) / kSecondsPerYear;
}

std::string Corrected(const v1::TrendPoint& point) {
  if (!point.has_corrected_megohms_40c()) return "";
  return absl::StrCat(point.at_least() ? "at least " : "", Figures(point.corrected_megohms_40c()));
}

// "0.82 a year (0.76 to 0.88): 18 % less every year".
std::string SlopeText(const v1::Band& ratio) {
  const double change = ratio.nominal() - 1;
  return absl::StrCat("x ", Figures(ratio.nominal(), 3), " a year (", Figures(ratio.low(), 3), " to ",
                      Figures(ratio.high(), 3), "): ", Fixed(100 * std::abs(change), 0), " % ",
                      change < 0 ? "less" : "more", " every year");
}

// To the month: a day would promise what no slope holds.
std::string Month(const google::protobuf::Timestamp& time) { return Day(time).substr(0, 7); }

std::string CrossingText(const v1::TrendCrossing& crossing) {
  return absl::StrCat("likeliest ", Month(crossing.likeliest()), "; not before ", Month(crossing.earliest()),
                      crossing.has_latest() ? absl::StrCat(", not after ", Month(crossing.latest()))
                                            : "; how late at most these readings do not say");
}

void PrintPlot(const v1::GetMegohmTrendResponse& trend, Page* page) {
  LogPlot plot;
  plot.level = trend.minimum_megohms();
  for (const v1::TrendPoint& point : trend.points()) {
    if (!(point.corrected_megohms_40c() > 0)) continue;
    plot.points.push_back({Year(point.taken_time()), point.corrected_megohms_40c(),
                           point.at_least() ? '^'
                           : point.fitted() ? 'o'
                                            : 'x'});
  }
  if (plot.points.empty()) return;
  double last = plot.points[0].x, first = plot.points[0].x;
  for (const PlotPoint& point : plot.points) {
    last = std::max(last, point.x);
    first = std::min(first, point.x);
  }
  if (trend.has_fit()) {
    // The line is given at the last reading that it is fitted to.
    double at = first;
    for (const v1::TrendPoint& point : trend.points()) {
      if (point.fitted()) at = std::max(at, Year(point.taken_time()));
    }
    plot.line_x = at;
    plot.line_y = trend.fit().megohms_at_last();
    plot.line_ratio = trend.fit().ratio_per_year().nominal();
  }
  // The crossing is shown where that leaves the readings at least half of the width.
  if (trend.has_crossing()) plot.last_x = std::min(Year(trend.crossing().likeliest()), last + (last - first));
  page->Heading("Megohms at 40 C over the years");
  page->Blank();
  // Wider than this says no more.
  for (const std::string& line : DrawPlot(plot, std::min(PageWidth() - 2, 96), 15)) page->Drawn(line);
  std::vector<std::string> legend;
  for (const auto& [mark, means] :
       std::vector<std::pair<char, const char*>>{{'o', "o reading"}, {'^', "^ at least"}, {'x', "x left out"}}) {
    for (const PlotPoint& point : plot.points) {
      if (point.mark != mark) continue;
      legend.emplace_back(means);
      break;
    }
  }
  if (trend.has_fit()) legend.emplace_back(". line through them");
  legend.push_back(absl::StrCat("- least allowed, ", Figures(trend.minimum_megohms())));
  page->Paragraph(absl::StrJoin(legend, "; "));
}

std::string Print(const v1::GetMegohmTrendResponse& trend, const std::string& whose) {
  Page page;
  page.Title(absl::StrCat("insulation resistance over the years, ", whose));
  page.Item(trend.has_crossing()
                ? absl::StrCat("If it goes on so it falls to the least allowed, ", Figures(trend.minimum_megohms()),
                               " megohms: ", CrossingText(trend.crossing()))
                : absl::StrCat("No forecast: ", trend.no_forecast()));
  if (trend.has_crossing() && trend.crossing().likeliest().seconds() < std::time(nullptr))
    page.Item("That month is past and nothing was read since: measure before anything rests on it.");
  if (trend.has_fit()) {
    const v1::TrendFit& fit = trend.fit();
    page.Facts({{"slope", SlopeText(fit.ratio_per_year())},
                {"scatter", absl::StrCat("a factor of ", Figures(fit.scatter_ratio(), 3), " about the line")},
                {"fitted", absl::StrCat(fit.points(), " visits over ", Figures(fit.years(), 2), " years")},
                {"line ends at", absl::StrCat(Figures(fit.megohms_at_last(), 3), " megohms at the last reading")}});
  }
  PrintPlot(trend, &page);
  page.Heading("Readings, all corrected the same way");
  Table table({{"taken", {}},
               {"stage", {}},
               {"read, megohms", Table::Align::kRight},
               {"winding C", Table::Align::kRight},
               {"at 40 C, megohms", Table::Align::kRight},
               {"readings", {}},
               {"", {}}});
  for (const v1::TrendPoint& point : trend.points()) {
    table.Add(
        {Day(point.taken_time()), EnumText(point.stage()),
         point.has_as_read_megohms() ? absl::StrCat(point.at_least() ? ">" : "", Figures(point.as_read_megohms())) : "",
         point.has_winding_celsius() ? Figures(point.winding_celsius(), 3) : "", Corrected(point),
         ShortName(point.readings()), point.fitted() ? "" : absl::StrCat("left out: ", point.reason())});
  }
  page.Add(table);
  std::set<std::string> rules;
  CollectRules(trend.rule_uses(), &rules);
  if (!trend.minimum_megohms_rule().empty()) rules.insert(trend.minimum_megohms_rule());
  PrintEnd({}, trend.notes(), trend.cautions(), rules, trend.data_revision(), &page);
  return page.text();
}

absl::Status Trend(Session& session) {
  const Arguments& arguments = session.arguments;
  if (absl::Status words = ExpectWords(arguments, 0, 1, "the NAME of a job of the machine, or --serial TEXT");
      !words.ok())
    return words;
  if (arguments.words().empty() != arguments.Has("serial"))
    return absl::InvalidArgumentError("missing: either the NAME of a job of the machine, or --serial TEXT");
  v1::GetMegohmTrendRequest request;
  std::string whose = absl::StrCat("serial ", arguments.Text("serial"));
  if (!arguments.words().empty()) {
    const auto named = ReadName(arguments.words()[0], {"jobs"});
    if (!named.ok()) return named.status();
    request.set_job(named->name);
    whose = absl::StrCat("machine of ", named->name);
  }
  if (absl::Status filled = FillRequest(arguments, &request); !filled.ok()) return filled;
  v1::GetMegohmTrendResponse answer;
  if (absl::Status called = session.Call(request, &answer); !called.ok()) return InWordsOfCommands(called);
  if (!session.json) {
    for (std::string& note : *answer.mutable_notes())
      note = absl::StrReplaceAll(note, {{"is marked as deleted", "is set aside"}});
  }
  session.out = session.json ? ToJson(answer) : Print(answer, whose);
  return absl::OkStatus();
}

}  // namespace

std::vector<Command> TrendCommands() {
  std::vector<Flag> flags = {
      {"serial", "TEXT", "serial_text", "serial number on the plate: all jobs with it"},
      {"stages", "STAGE[,STAGE]", "stages", "only readings of these stages: assembled,in-service"},
      {"confidence", "SHARE", "confidence", "confidence of slope and crossing, 0.5 to 0.999 (0.95)"}};
  for (const Flag& flag : TestChoiceFlags()) flags.push_back(flag);
  return {{"job trend", "insulation resistance of a machine over the years, with its forecast", "NAME | --serial TEXT",
           flags, Trend,
           "All readings of all jobs of the machine are corrected to 40 C the same way today. A straight line through "
           "their logarithms says when the least allowed would be reached; where the readings do not carry that, the "
           "answer says why and gives no date."}};
}

}  // namespace coilwright::cli
