#include <set>
#include <vector>

#include "absl/strings/ascii.h"
#include "absl/strings/match.h"
#include "absl/strings/numbers.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"
#include "absl/strings/str_split.h"
#include "absl/strings/strip.h"
#include "coilwright/v1/megohm_service.pb.h"
#include "command.h"
#include "megohm_reading.h"
#include "request.h"
#include "rules_print.h"
#include "test_choice.h"
#include "text.h"

namespace coilwright::cli {
namespace {

// A ratio with its least value and what is said of it; of one that was asked for but does not apply, why.
std::string Ratio(const v1::MegohmRatio& ratio, bool read) {
  if (!ratio.has_value()) return read ? absl::StrCat("not judged: ", ratio.reason()) : "";
  std::string text = Fixed(ratio.value(), 2);
  if (ratio.has_minimum()) absl::StrAppend(&text, " (least ", Figures(ratio.minimum()), ")");
  if (!ratio.reason().empty()) absl::StrAppend(&text, ratio.applies() ? ", " : ", not judged: ", ratio.reason());
  return text;
}

std::string Print(const v1::JudgeMegohmsRequest& request, const v1::JudgeMegohmsResponse& answer, const Units& units) {
  Page page;
  page.Title(absl::StrCat("insulation resistance, winding of ", Figures(request.rated_volts()), " V line to line"));
  page.Blank();
  Table table({{"reading", {}},
               {"verdict", {}},
               {"at 40 C, megohms", Table::Align::kRight},
               {"factor", Table::Align::kPoint},
               {"over least", Table::Align::kPoint},
               {"why", {}}});
  for (const v1::JudgedMegohms& reading : answer.readings()) {
    table.Add({reading.label(), EnumText(reading.verdict()),
               reading.has_corrected_megohms_40c()
                   ? absl::StrCat(reading.at_least() ? "at least " : "", Figures(reading.corrected_megohms_40c()))
                   : "",
               reading.has_correction_factor() ? Figures(reading.correction_factor()) : "",
               reading.has_margin_ratio() ? absl::StrCat(Figures(reading.margin_ratio(), 3), " x") : "",
               reading.reason()});
  }
  page.Add(table);
  std::set<std::string> rules;
  CollectRules(answer.rule_uses(), &rules);
  for (int i = 0; i < answer.readings_size(); ++i) {
    const v1::JudgedMegohms& reading = answer.readings(i);
    CollectRules(reading.rule_uses(), &rules);
    for (const v1::MegohmRatio* ratio : {&reading.polarization_index(), &reading.absorption_ratio()}) {
      if (!ratio->rule().empty() && ratio->has_value()) rules.insert(ratio->rule());
    }
    const std::string index = Ratio(reading.polarization_index(), request.readings(i).has_megohms_at_10min());
    const std::string absorption = Ratio(reading.absorption_ratio(), request.readings(i).has_megohms_at_30s());
    const std::string discharge =
        reading.has_discharge_seconds() ? absl::StrCat("at least ", Figures(reading.discharge_seconds()), " s") : "";
    if (index.empty() && absorption.empty() && discharge.empty()) continue;
    page.Heading(reading.label());
    page.Facts({{"polarization index, 10 min / 1 min", index},
                {"absorption, 60 s / 30 s", absorption},
                {"earth it afterwards", discharge}});
  }
  page.Heading("Limits");
  page.Facts(
      {{"least at 40 C", absl::StrCat(Figures(answer.minimum_megohms()), " megohms")},
       {"a good new winding", absl::StrCat(Figures(answer.shop_expectation_megohms()), " megohms or more")},
       {"test voltage", absl::StrCat(Figures(answer.test_volts_dc()), " V dc")},
       {"insulation", EnumText(answer.insulation_family())},
       {"dew point", answer.has_dew_point_celsius() ? units.Text(Quantity::kCelsius, answer.dew_point_celsius()) : ""},
       {"size", answer.outside_megohm_scope()
                    ? "below what the megohm standard is written for: its figures are a shop convention here"
                    : ""}});
  for (const std::string& rule : {answer.minimum_megohms_rule(), answer.test_volts_rule()}) {
    if (!rule.empty()) rules.insert(rule);
  }
  PrintEnd(answer.shop_settings(), answer.notes(), answer.cautions(), rules, answer.data_revision(), &page);
  return page.text();
}

absl::Status JudgeMegohms(Session& session) {
  if (absl::Status words = ExpectWords(session.arguments, 0, 0, "flags only; readings stand after --reading");
      !words.ok())
    return words;
  v1::JudgeMegohmsRequest request;
  for (const std::string& text : session.arguments.All("reading")) {
    v1::MegohmReading* reading = request.add_readings();
    if (absl::Status read = ReadMegohms(text, reading); !read.ok()) {
      return absl::InvalidArgumentError(absl::StrCat("--reading: ", read.message()));
    }
    if (reading->label().empty()) reading->set_label(absl::StrCat("reading ", request.readings_size()));
  }
  if (request.readings().empty()) return absl::InvalidArgumentError("missing: --reading, such as --reading 850@22C");
  if (absl::Status filled = FillRequest(session.arguments, &request); !filled.ok()) return filled;
  v1::JudgeMegohmsResponse answer;
  if (absl::Status called = session.Call(request, &answer); !called.ok()) return called;
  session.out = session.json ? ToJson(answer) : Print(request, answer, session.units);
  return absl::OkStatus();
}

}  // namespace

absl::Status ReadMegohms(absl::string_view text, v1::MegohmReading* reading) {
  constexpr absl::string_view kForm =
      "[LABEL:][>]MEGOHMS[@TEMPERATURE][,30s=M][,10min=M][,volts=V][,others=STATE][,how=STATE][,uncertainty=RATIO]";
  const auto wrong = [&](absl::string_view part) {
    return absl::InvalidArgumentError(absl::StrCat("got \"", part, "\", accepted: ", kForm));
  };
  const std::vector<std::string> parts = absl::StrSplit(text, ',');
  absl::string_view value = absl::StripAsciiWhitespace(parts[0]);
  if (const size_t colon = value.rfind(':'); colon != absl::string_view::npos) {
    reading->set_label(std::string(absl::StripAsciiWhitespace(value.substr(0, colon))));
    value = absl::StripAsciiWhitespace(value.substr(colon + 1));
  }
  reading->set_over_range(absl::ConsumePrefix(&value, ">"));
  const size_t at = value.find('@');
  double megohms = 0;
  if (!absl::SimpleAtod(value.substr(0, at), &megohms)) return wrong(parts[0]);
  reading->set_insulation_megohms(megohms);
  if (at != absl::string_view::npos) {
    if (absl::Status set = SetField(reading, "winding_temperature", value.substr(at + 1)); !set.ok()) return set;
  }
  static const auto* const fields = new std::vector<std::pair<absl::string_view, absl::string_view>>{
      {"30s", "megohms_at_30s"},  {"10min", "megohms_at_10min"},   {"volts", "test_volts_dc"},
      {"others", "other_phases"}, {"how", "temperature_evidence"}, {"uncertainty", "instrument.uncertainty_ratio"}};
  std::set<absl::string_view> given;
  for (size_t i = 1; i < parts.size(); ++i) {
    const std::pair<std::string, std::string> pair = absl::StrSplit(parts[i], absl::MaxSplits('=', 1));
    bool known = false;
    for (const auto& [name, field] : *fields) {
      if (absl::StripAsciiWhitespace(pair.first) != name) continue;
      known = true;
      if (!given.insert(name).second) return absl::InvalidArgumentError(absl::StrCat(name, ": given twice"));
      if (absl::Status set = SetField(reading, field, pair.second); !set.ok()) {
        return absl::InvalidArgumentError(absl::StrCat(name, ": ", set.message()));
      }
    }
    if (!known) return wrong(parts[i]);
  }
  return absl::OkStatus();
}

std::vector<Command> MegohmCommands() {
  std::vector<Flag> flags = {{"reading", "READING...", "readings", "a reading, below; give it again for more", true},
                             {"volts", "V", "rated_volts", "rated voltage of the winding, line to line, rms"},
                             {"kw", "KW", "rated_power.kw", "rated power"},
                             {"hp", "HP", "rated_power.hp", "the same in horsepower"},
                             {"kind", "KIND", "winding_kind", "random-wound (default), form-wound, field, dc-armature"},
                             {"year", "YEAR", "built_year", "year the machine was built"},
                             {"class", "CLASS", "thermal_class", "thermal class, letter or number (F)"},
                             {"air", "TEMPERATURE", "air_temperature", "air in the shop, for the dew point: 21C, 70F"},
                             {"humidity", "PERCENT", "relative_humidity_percent", "relative humidity of that air"}};
  for (const Flag& flag : TestChoiceFlags()) flags.push_back(flag);
  return {{"megohm", "insulation resistance corrected to 40 C and judged",
           "--volts V --reading MEGOHMS@TEMPERATURE ...", flags, JudgeMegohms,
           "A reading: 850@22C is 850 megohms after one minute, winding at 22 C (72F works too). Before it, a label: "
           "\"U to frame:850@22C\". "
           "A display that shows \"more than 2000\": \">2000@22C\".\n\n"
           "After it, by commas: 30s=610 and 10min=1900 (megohms at those times), volts=500 (what the instrument "
           "applied), others=together, "
           "earthed or guarded (the other phases), how=sensor, soaked or ambient-assumed (how the temperature is "
           "known), uncertainty=0.05 (of the reading, k = 2)."}};
}

}  // namespace coilwright::cli
