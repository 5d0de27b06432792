#include "sample_lines.h"

#include <algorithm>
#include <cmath>

#include "absl/strings/ascii.h"
#include "absl/strings/numbers.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_split.h"
#include "absl/strings/strip.h"
#include "text.h"

namespace coilwright::cli {
namespace {

using Sample = v1::InsulationSample;

struct Known {
  const char* name;
  int field;
  double factor, offset;
};

constexpr Known kKnown[] = {{"seconds", Sample::kSecondsFieldNumber, 1, 0},
                            {"minutes", Sample::kSecondsFieldNumber, 60, 0},
                            {"volts", Sample::kTestVoltsDcFieldNumber, 1, 0},
                            {"kilovolts", Sample::kTestVoltsDcFieldNumber, 1000, 0},
                            {"microamps", Sample::kCurrentMicroampsFieldNumber, 1, 0},
                            {"nanoamps", Sample::kCurrentMicroampsFieldNumber, 1e-3, 0},
                            {"milliamps", Sample::kCurrentMicroampsFieldNumber, 1e3, 0},
                            {"megohms", Sample::kInsulationMegohmsFieldNumber, 1, 0},
                            {"gigohms", Sample::kInsulationMegohmsFieldNumber, 1000, 0},
                            {"celsius", Sample::kWindingCelsiusFieldNumber, 1, 0},
                            {"fahrenheit", Sample::kWindingCelsiusFieldNumber, 5.0 / 9, 32}};

constexpr absl::string_view kNames =
    "seconds or minutes, volts or kilovolts, microamps, nanoamps or milliamps, megohms or gigohms, celsius or "
    "fahrenheit";

}  // namespace

bool SampleLines::has_volts() const {
  return std::any_of(columns_.begin(), columns_.end(),
                     [](const Column& one) { return one.field == Sample::kTestVoltsDcFieldNumber; });
}

absl::Status SampleLines::ReadHeading(absl::string_view line) {
  std::vector<Column> columns;
  absl::ConsumePrefix(&line, "\xEF\xBB\xBF");
  for (absl::string_view cell : absl::StrSplit(line, ',')) {
    cell = absl::StripAsciiWhitespace(cell);
    std::string name = absl::AsciiStrToLower(cell);
    name.erase(std::remove(name.begin(), name.end(), '"'), name.end());
    absl::StripAsciiWhitespace(&name);
    const auto* known =
        std::find_if(std::begin(kKnown), std::end(kKnown), [&](const Known& one) { return name == one.name; });
    if (known == std::end(kKnown)) {
      return absl::InvalidArgumentError(absl::StrCat("got column \"", Printable(cell), "\", accepted: ", kNames));
    }
    if (std::any_of(columns.begin(), columns.end(), [&](const Column& one) { return one.field == known->field; })) {
      return absl::InvalidArgumentError(
          absl::StrCat("got \"", Printable(cell), "\" beside another column for the same, accepted: one"));
    }
    columns.push_back({known->name, known->field, known->factor, known->offset});
  }
  const auto has = [&](int field) {
    return std::any_of(columns.begin(), columns.end(), [&](const Column& one) { return one.field == field; });
  };
  if (!has(Sample::kSecondsFieldNumber) || !(has(Sample::kTestVoltsDcFieldNumber) || constant_volts_) ||
      !(has(Sample::kCurrentMicroampsFieldNumber) || has(Sample::kInsulationMegohmsFieldNumber))) {
    return absl::InvalidArgumentError(absl::StrCat(
        "the heading line needs a time, volts (or --test-volts for all of it), and a current or megohms: ", kNames));
  }
  columns_ = std::move(columns);
  return absl::OkStatus();
}

absl::Status SampleLines::Read(absl::string_view line, v1::InsulationSample* sample) const {
  const std::vector<absl::string_view> cells = absl::StrSplit(line, ',');
  if (cells.size() != columns_.size()) {
    return absl::InvalidArgumentError(
        absl::StrCat("got ", cells.size(), " values, accepted: ", columns_.size(), " as in the heading line"));
  }
  if (constant_volts_ && !has_volts()) sample->set_test_volts_dc(*constant_volts_);
  for (size_t i = 0; i < cells.size(); ++i) {
    const Column& column = columns_[i];
    absl::string_view cell = absl::StripAsciiWhitespace(cells[i]);
    if (cell.empty()) continue;
    if ((column.field == Sample::kInsulationMegohmsFieldNumber && absl::ConsumePrefix(&cell, ">")) ||
        (column.field == Sample::kCurrentMicroampsFieldNumber && absl::ConsumePrefix(&cell, "<"))) {
      sample->set_over_range(true);
    }
    double value = 0;
    if (!absl::SimpleAtod(cell, &value) || !std::isfinite(value)) {
      return absl::InvalidArgumentError(
          absl::StrCat(column.name, ": got \"", Printable(cells[i]), "\", accepted: a number"));
    }
    const auto* field = Sample::descriptor()->FindFieldByNumber(column.field);
    Sample::GetReflection()->SetDouble(sample, field, (value - column.offset) * column.factor);
  }
  return absl::OkStatus();
}

}  // namespace coilwright::cli
