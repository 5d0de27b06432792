#include "rpc/reading_words.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>
#include <utility>
#include <vector>

#include "absl/strings/ascii.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"
#include "enum_text.h"
#include "print/figures.h"
#include "testing/surge_compare.h"
#include "testing/three_leads.h"
#include "words.h"

namespace coilwright::rpc {
namespace {

using testing::kPairs;
using Parts = std::vector<std::string>;

// Figures of an instrument, none of them lost.
std::string AsShown(double value) { return print::Figures(value, 8); }

std::string Shown(double value, const char* unit) { return absl::StrCat(AsShown(value), " ", unit); }

// What one reading says: figures, and what they were read under.
struct ReadingText {
  std::string kind;
  Parts read, under;
};

void AddTemperature(const char* what, const v1::Temperature& at, v1::TemperatureEvidence how, Parts* parts) {
  if (at.as_read_case() == v1::Temperature::AS_READ_NOT_SET) return;
  parts->push_back(
      absl::StrCat(what, " ", at.has_celsius() ? Shown(at.celsius(), "C") : Shown(at.fahrenheit(), "F"),
                   how == v1::TEMPERATURE_EVIDENCE_UNSPECIFIED ? "" : absl::StrCat(" (", EnumText(how), ")")));
}

using ThreeRead = std::array<std::optional<double>, 3>;

ThreeRead OhmsOf(const v1::LineToLineResistance& line) {
  ThreeRead ohms;
  if (line.has_u_v_ohms()) ohms[0] = line.u_v_ohms();
  if (line.has_v_w_ohms()) ohms[1] = line.v_w_ohms();
  if (line.has_w_u_ohms()) ohms[2] = line.w_u_ohms();
  return ohms;
}

ThreeRead VoltsOf(const v1::BackEmfReading& back) {
  ThreeRead volts;
  if (back.has_u_v_volts_rms()) volts[0] = back.u_v_volts_rms();
  if (back.has_v_w_volts_rms()) volts[1] = back.v_w_volts_rms();
  if (back.has_w_u_volts_rms()) volts[2] = back.w_u_volts_rms();
  return volts;
}

// "mean 0.412 ohms"; of one reading the reading.
std::string MeanWords(const ThreeRead& values, const char* unit) {
  double sum = 0;
  int count = 0;
  for (const auto& value : values) {
    sum += value.value_or(0);
    count += value.has_value();
  }
  return count == 0 ? "" : absl::StrCat(count > 1 ? "mean " : "", print::Figures(sum / count), " ", unit);
}

ReadingText SaidIn(const v1::ResistanceReading& r) {
  ReadingText text{"Resistance, line to line", {}, {}};
  const v1::LineToLineResistance& line = r.line_to_line();
  const ThreeRead ohms = OhmsOf(line);
  const std::array<bool, 3> open = {r.u_v_open(), r.v_w_open(), r.w_u_open()};
  for (size_t i = 0; i < 3; ++i) {
    if (open[i] || ohms[i])
      text.read.push_back(absl::StrCat(kPairs[i], " ", open[i] ? "open" : Shown(*ohms[i], "ohms")));
  }
  AddTemperature("winding at", line.winding_temperature(), line.temperature_evidence(), &text.under);
  if (line.has_leads_ohms())
    text.under.push_back(absl::StrCat("leads of ", Shown(line.leads_ohms(), "ohms"), " in it"));
  return text;
}

ReadingText SaidIn(const v1::MegohmReading& r) {
  ReadingText text{"Insulation", {}, {}};
  const std::string least = r.over_range() ? "more than " : "";
  if (r.has_megohms_at_30s()) text.read.push_back(absl::StrCat(Shown(r.megohms_at_30s(), "megohms"), " at 30 s"));
  if (r.has_insulation_megohms())
    text.read.push_back(absl::StrCat(least, Shown(r.insulation_megohms(), "megohms"), " at 60 s"));
  if (r.has_megohms_at_10min()) text.read.push_back(absl::StrCat(Shown(r.megohms_at_10min(), "megohms"), " at 10 min"));
  if (r.has_test_volts_dc()) text.under.push_back(Shown(r.test_volts_dc(), "V dc"));
  AddTemperature("winding at", r.winding_temperature(), r.temperature_evidence(), &text.under);
  if (r.other_phases() != v1::OTHER_PHASES_UNSPECIFIED)
    text.under.push_back(absl::StrCat("phases ", EnumText(r.other_phases())));
  return text;
}

std::string HeldWords(const v1::WithstandReading& r) {
  return absl::StrCat(AsShown(r.test_volts()), " V ", EnumText(r.volts_shape()),
                      r.has_hold_seconds() ? absl::StrCat(" for ", AsShown(r.hold_seconds()), " s") : "",
                      r.broke_down() ? ", broke down" : "");
}

ReadingText SaidIn(const v1::WithstandReading& r) {
  ReadingText text{"Withstand", {HeldWords(r)}, {}};
  if (!r.leakage_milliamps().empty()) {
    const auto [low, high] = std::minmax_element(r.leakage_milliamps().begin(), r.leakage_milliamps().end());
    text.read.push_back(
        absl::StrCat("leakage ", *low < *high ? absl::StrCat(AsShown(*low), " to ") : "", Shown(*high, "mA")));
  }
  if (r.has_trip_milliamps()) text.under.push_back(absl::StrCat("trip at ", Shown(r.trip_milliamps(), "mA")));
  return text;
}

double PeakOf(const google::protobuf::RepeatedField<double>& volts) {
  double peak = 0;
  for (const double v : volts) peak = std::max(peak, std::abs(v));
  return peak;
}

ReadingText SaidIn(const v1::SurgeReading& r) {
  ReadingText text{"Surge", {}, {}};
  for (const v1::SurgeWave& wave : r.waves()) {
    const std::string point =
        wave.point() == v1::WAVE_POINT_UNSPECIFIED
            ? ""
            : absl::StrCat(testing::NameOf(static_cast<testing::WavePoint>(wave.point() - 1)), " ");
    std::string peak = absl::StrCat(point, print::Figures(PeakOf(wave.volts())), " V peak");
    if (!wave.volts_at_lower_level().empty())
      absl::StrAppend(&peak, " (and ", print::Figures(PeakOf(wave.volts_at_lower_level())), " V)");
    text.read.push_back(std::move(peak));
  }
  if (r.has_sample_microseconds())
    text.under.push_back(absl::StrCat("a sample every ", Shown(r.sample_microseconds(), "us")));
  if (r.rotor_locked_at_same_position()) text.under.push_back("rotor locked at the same position");
  return text;
}

ReadingText SaidIn(const v1::BackEmfReading& r) {
  ReadingText text{"Back-EMF, line to line", {}, {}};
  const ThreeRead volts = VoltsOf(r);
  for (size_t i = 0; i < 3; ++i) {
    if (volts[i]) text.read.push_back(absl::StrCat(kPairs[i], " ", Shown(*volts[i], "V rms")));
  }
  if (r.has_speed_rpm()) text.under.push_back(Shown(r.speed_rpm(), "rpm"));
  if (r.has_frequency_hz()) text.under.push_back(Shown(r.frequency_hz(), "Hz"));
  AddTemperature("magnets at", r.magnet_temperature(), v1::TEMPERATURE_EVIDENCE_UNSPECIFIED, &text.under);
  return text;
}

ReadingText SaidIn(const v1::TemperatureRiseReading& r) {
  ReadingText text{"Temperature rise", {}, {}};
  text.read.push_back(absl::StrCat("cold ", Shown(r.cold_ohms(), "ohms"), ", hot ", Shown(r.hot_ohms(), "ohms")));
  AddTemperature("cold winding at", r.cold_temperature(), v1::TEMPERATURE_EVIDENCE_UNSPECIFIED, &text.under);
  AddTemperature("coolant at", r.coolant_temperature(), v1::TEMPERATURE_EVIDENCE_UNSPECIFIED, &text.under);
  if (r.has_seconds_after_switch_off())
    text.under.push_back(absl::StrCat("hot ", AsShown(r.seconds_after_switch_off()), " s after switching off"));
  return text;
}

ReadingText SaidIn(const v1::Observation& r) {
  ReadingText text{EnumText(r.kind()), {r.passed() ? "as it should be" : "not as it should be"}, {}};
  if (!text.kind.empty()) text.kind[0] = absl::ascii_toupper(static_cast<unsigned char>(text.kind[0]));
  if (!r.note().empty()) text.read.push_back(r.note());
  return text;
}

ReadingText SaidIn(const v1::Reading& reading) {
  switch (reading.reading_case()) {
    case v1::Reading::kResistance:
      return SaidIn(reading.resistance());
    case v1::Reading::kMegohms:
      return SaidIn(reading.megohms());
    case v1::Reading::kWithstand:
      return SaidIn(reading.withstand());
    case v1::Reading::kSurge:
      return SaidIn(reading.surge());
    case v1::Reading::kBackEmf:
      return SaidIn(reading.back_emf());
    case v1::Reading::kTemperatureRise:
      return SaidIn(reading.temperature_rise());
    case v1::Reading::kObservation:
      return SaidIn(reading.observation());
    case v1::Reading::READING_NOT_SET:
      break;
  }
  return {};
}

}  // namespace

sheet::Table ReadingsTable(const v1::JudgeReadingsRequest& request) {
  sheet::Table table;
  table.columns = {{"reading", false, false}, {"as read", false, true}, {"under", false, true}};
  for (const v1::Reading& reading : request.readings()) {
    ReadingText text = SaidIn(reading);
    const std::string& label =
        reading.label().empty() && reading.has_megohms() ? reading.megohms().label() : reading.label();
    if (!label.empty()) absl::StrAppend(&text.kind, " (", label, ")");
    table.rows.push_back({std::move(text.kind), absl::StrJoin(text.read, ", "), absl::StrJoin(text.under, ", ")});
  }
  return table;
}

std::string JudgedReadingWords(const v1::JudgedTest& test, const v1::JudgeReadingsRequest& request) {
  std::string judged = AsReadWords(test);
  if (test.reading() < 0 || test.reading() >= request.readings_size()) return judged;
  const v1::Reading& reading = request.readings(test.reading());
  if (IsWithstand(test) && reading.has_withstand())
    return absl::StrCat(HeldWords(reading.withstand()), judged.empty() ? "" : ", ", judged);
  if (test.kind() == v1::TEST_KIND_SURGE && reading.has_surge()) {
    double peak = 0;
    for (const v1::SurgeWave& wave : reading.surge().waves()) peak = std::max(peak, PeakOf(wave.volts()));
    return absl::StrCat(print::Figures(peak), " V peak",
                        test.has_as_read() ? absl::StrCat(", waves differ by ", print::Percent(test.as_read())) : "");
  }
  if (!judged.empty()) return judged;
  if (test.kind() == v1::TEST_KIND_WINDING_RESISTANCE && reading.has_resistance())
    return MeanWords(OhmsOf(reading.resistance().line_to_line()), "ohms");
  if (test.kind() == v1::TEST_KIND_BACK_EMF && reading.has_back_emf()) {
    const std::string mean = MeanWords(VoltsOf(reading.back_emf()), "V rms");
    const v1::BackEmfReading& back = reading.back_emf();
    return absl::StrCat(mean, back.has_speed_rpm()      ? absl::StrCat(" at ", Shown(back.speed_rpm(), "rpm"))
                              : back.has_frequency_hz() ? absl::StrCat(" at ", Shown(back.frequency_hz(), "Hz"))
                                                        : "");
  }
  if (test.kind() == v1::TEST_KIND_TEMPERATURE_RISE && reading.has_temperature_rise())
    return absl::StrCat(AsShown(reading.temperature_rise().cold_ohms()), " to ",
                        Shown(reading.temperature_rise().hot_ohms(), "ohms"));
  return "";
}

}  // namespace coilwright::rpc
