#include "archive_text.h"

#include <algorithm>
#include <cmath>

#include "absl/strings/ascii.h"
#include "absl/strings/match.h"
#include "absl/strings/numbers.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"
#include "absl/strings/str_replace.h"
#include "absl/strings/strip.h"
#include "absl/time/time.h"
#include "request.h"
#include "text.h"

namespace coilwright::cli {
namespace {

absl::Time ToTime(const google::protobuf::Timestamp& time) {
  return absl::FromUnixSeconds(time.seconds()) + absl::Nanoseconds(time.nanos());
}

// "60.00" -> "60"
std::string Trimmed(std::string number) {
  if (number.find('.') == std::string::npos) return number;
  number.erase(number.find_last_not_of('0') + 1);
  return std::string(absl::StripSuffix(number, "."));
}

double Kilowatts(const v1::Power& power) {
  switch (power.as_read_case()) {
    case v1::Power::kKw:
      return power.kw();
    case v1::Power::kWatts:
      return power.watts() / 1000;
    case v1::Power::kHp:
      return 0.745699871582 * power.hp();  // 550 foot-pounds a second
    default:
      return 0;
  }
}

std::string Figured(const std::vector<std::pair<double, const char*>>& figures) {
  std::vector<std::string> parts;
  for (const auto& [value, unit] : figures) {
    if (value > 0) parts.push_back(absl::StrCat(Figures(value), " ", unit));
  }
  return absl::StrJoin(parts, ", ");
}

constexpr char kRangeForm[] = "a number, or a range such as 90..100, 90.. or ..100";
constexpr char kLengthForm[] = "a length with its unit, such as \"95 mm\" or 3.74in, or a range such as \"90..100 mm\"";

// What one unit is of what a range is in; nothing for a unit that is none.
std::optional<double> Factor(absl::string_view unit, RangeOf what) {
  if (what == RangeOf::kLength) {
    v1::Core core;
    const std::string one = absl::StrCat("1 ", unit);
    return SetField(&core, "bore_diameter", one).ok() ? Millimetres(core.bore_diameter()) : std::nullopt;
  }
  if (unit.empty()) return 1;
  v1::Nameplate plate;
  if (what != RangeOf::kPower || !SetField(&plate, "rated_power", absl::StrCat("1 ", unit)).ok()) return std::nullopt;
  return Kilowatts(plate.rated_power());
}

std::pair<absl::string_view, absl::string_view> NumberAndUnit(absl::string_view text) {
  text = absl::StripAsciiWhitespace(text);
  const size_t end = std::min(text.find_first_not_of("0123456789.+-"), text.size());
  return {text.substr(0, end), absl::StripAsciiWhitespace(text.substr(end))};
}

}  // namespace

absl::StatusOr<Named> ReadName(absl::string_view text, const std::vector<std::string>& collections) {
  const std::string form =
      absl::StrCat("a name such as ", absl::StrJoin(collections, "/... or "), "/...", ", as lists show it");
  Named named;
  const size_t at = text.rfind('@');
  if (at != absl::string_view::npos) {
    int revision = 0;
    if (!absl::SimpleAtoi(text.substr(at + 1), &revision) || revision < 1)
      return Got(text, "NAME@REVISION with a revision from 1");
    named.revision = revision;
  }
  const absl::string_view name = text.substr(0, at);
  if (name.empty()) return Got(text, form);
  if (!absl::StrContains(name, "/")) {
    named.name = absl::StrCat(collections.front(), "/", name);
    return named;
  }
  for (const std::string& collection : collections) {
    if (absl::StartsWith(name, absl::StrCat(collection, "/"))) named.name = std::string(name);
  }
  if (named.name.empty()) return Got(text, form);
  return named;
}

std::string ShortName(absl::string_view name) { return std::string(name.substr(name.find('/') + 1)); }

absl::Status ReadTime(absl::string_view text, google::protobuf::Timestamp* time, bool* day_only) {
  absl::Time read;
  std::string error;
  const std::string given(absl::StripAsciiWhitespace(text));
  const absl::TimeZone here = absl::LocalTimeZone();
  const bool day = absl::ParseTime("%Y-%m-%d", given, here, &read, &error);
  if (!day && !absl::ParseTime("%Y-%m-%d %H:%M", given, here, &read, &error) &&
      !absl::ParseTime("%Y-%m-%d %H:%M:%S", given, here, &read, &error) &&
      !absl::ParseTime(absl::RFC3339_full, given, here, &read, &error)) {
    return Got(text, "a day such as 2017-05-03, or a time such as \"2017-05-03 14:30\" or 2017-05-03T14:30:00Z");
  }
  if (day) read += absl::Hours(12);
  if (day_only != nullptr) *day_only = day;
  if (read == absl::InfiniteFuture() || read == absl::InfinitePast()) return Got(text, "a day of the calendar");
  const int64_t micros = absl::ToUnixMicros(read);
  const int64_t rest = ((micros % 1000000) + 1000000) % 1000000;
  time->set_seconds((micros - rest) / 1000000);
  time->set_nanos(static_cast<int>(rest * 1000));
  return absl::OkStatus();
}

absl::Status ReadTimeFlag(const Arguments& arguments, absl::string_view flag, google::protobuf::Timestamp* time,
                          bool* day_only) {
  if (!arguments.Has(flag)) return absl::OkStatus();
  const absl::Status read = ReadTime(arguments.Text(flag), time, day_only);
  return read.ok() ? read : absl::Status(read.code(), absl::StrCat("--", flag, ": ", read.message()));
}

std::string Moment(const google::protobuf::Timestamp& time) {
  if (time.seconds() == 0) return "";
  return absl::FormatTime("%Y-%m-%d %H:%M", ToTime(time), absl::LocalTimeZone());
}

std::string Day(const google::protobuf::Timestamp& time) { return Moment(time).substr(0, 10); }

std::string When(const google::protobuf::Timestamp& time, bool day_only) { return day_only ? Day(time) : Moment(time); }

absl::Status InWordsOfCommands(const absl::Status& status) {
  return absl::Status(
      status.code(),
      absl::StrReplaceAll(status.message(),
                          {{"request_id \"", "--request-id \""},
                           {"despite_check", "--despite"},
                           {"despite_verdict", "--despite"},
                           {"; UpdateJob names one", "; coilwright job change NAME --set winding=NAME names one"},
                           {"has been changed since the etag given was read: read it again, look at what changed, and "
                            "send the change with the new etag",
                            "has been changed meanwhile: look at what changed, and give the command again"},
                           {"is marked as deleted: undelete it first",
                            "is set aside; coilwright archive bring-back brings it back first"},
                           {"is not marked as deleted", "is not set aside"}}));
}

std::string CheckWord(v1::CheckVerdict verdict) {
  switch (verdict) {
    case v1::CHECK_VERDICT_SOUND:
      return "sound";
    case v1::CHECK_VERDICT_EXPLAINED:
    case v1::CHECK_VERDICT_UNEXPLAINED:
      return "NOT sound";
    case v1::CHECK_VERDICT_UNDECIDED:
      return "undecided";
    default:
      return "unchecked";
  }
}

std::string PlateText(const v1::WindingSummary& winding) {
  return Figured({{winding.rated_volts(), "V"}, {winding.rated_kw(), "kW"}, {winding.speed_rpm(), "rpm"}});
}

std::string PlateText(const v1::Nameplate& plate) {
  return Figured({{plate.rated_volts(), "V"}, {Kilowatts(plate.rated_power()), "kW"}, {plate.speed_rpm(), "rpm"}});
}

std::string PlateWords(const v1::WindingSummary& winding) {
  return coilwright::PlateWords(winding.maker_text(), winding.model_text(), winding.serial_text(),
                                winding.frame_text());
}

std::string SlotsAndPoles(const v1::WindingSummary& winding) {
  const auto text = [](bool has, int count) { return has ? absl::StrCat(count) : std::string("-"); };
  if (!winding.has_slots() && !winding.has_poles()) return "";
  return absl::StrCat(text(winding.has_slots(), winding.slots()), "/", text(winding.has_poles(), winding.poles()));
}

std::string CoreText(const v1::WindingSummary& winding, const Units& units) {
  const auto text = [&](bool has, double mm) {
    return has ? Trimmed(units.Number(Quantity::kLengthMm, mm)) : std::string("-");
  };
  if (!winding.has_bore_mm() && !winding.has_outer_mm() && !winding.has_stack_length_mm()) return "";
  return absl::StrCat(text(winding.has_bore_mm(), winding.bore_mm()), " / ",
                      text(winding.has_outer_mm(), winding.outer_mm()), " / ",
                      text(winding.has_stack_length_mm(), winding.stack_length_mm()));
}

std::optional<double> Millimetres(const v1::Length& length) {
  switch (length.as_read_case()) {
    case v1::Length::kMm:
      return length.mm();
    case v1::Length::kInches:
      return 25.4 * length.inches();
    case v1::Length::kMils:
      return 0.0254 * length.mils();
    case v1::Length::kMetres:
      return 1000 * length.metres();
    case v1::Length::kFeet:
      return 304.8 * length.feet();
    default:
      return std::nullopt;
  }
}

std::string LengthText(const v1::Length& length, const Units& units) {
  const std::optional<double> mm = Millimetres(length);
  return mm ? absl::StrCat(Trimmed(units.Number(Quantity::kLengthMm, *mm)), " ", units.Name(Quantity::kLengthMm)) : "";
}

absl::Status ReadRange(absl::string_view text, RangeOf what, v1::NumberRange* range) {
  const char* const form = what == RangeOf::kLength ? kLengthForm : kRangeForm;
  const size_t dots = text.find("..");
  const bool single = dots == absl::string_view::npos;
  auto [low, low_unit] = NumberAndUnit(text.substr(0, dots));
  auto [high, high_unit] = single ? std::make_pair(low, low_unit) : NumberAndUnit(text.substr(dots + 2));
  if (low_unit.empty()) low_unit = high_unit;
  const auto end = [&](absl::string_view number, absl::string_view unit, int side) -> absl::StatusOr<double> {
    double value = 0;
    const std::optional<double> factor = Factor(unit, what);
    if (!factor || !absl::SimpleAtod(number, &value) || !std::isfinite(value)) return Got(text, form);
    if (what == RangeOf::kCount) {
      if (value != std::floor(value)) return Got(text, "a whole number, or a range such as 36..48");
      return value;
    }
    const size_t point = number.find('.');
    const double last_place =
        point == absl::string_view::npos ? 1 : std::pow(10, -static_cast<double>(number.size() - point - 1));
    // The ends of a range stand for themselves, and a conversion between units costs them nothing.
    const double slack = single ? last_place / 2 : 1e-9 * std::abs(value);
    return (value + side * slack) * *factor;
  };
  if (single || !low.empty()) {
    const auto least = end(low, low_unit, -1);
    if (!least.ok()) return least.status();
    range->set_least(*least);
  }
  if (single || !high.empty()) {
    const auto most = end(high, high_unit, 1);
    if (!most.ok()) return most.status();
    range->set_most(*most);
  }
  if (!range->has_least() && !range->has_most()) return Got(text, form);
  if (range->has_least() && range->has_most() && range->least() > range->most())
    return Got(text, "a range from the smaller to the larger");
  return absl::OkStatus();
}

}  // namespace coilwright::cli
