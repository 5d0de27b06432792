#include "standards/thermal_class.h"

#include "absl/strings/ascii.h"
#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"
#include "standards/errors.h"
#include "standards/tables.h"

namespace coilwright::standards {

const std::vector<ThermalClass>& ThermalClasses() {
  static const auto& classes = *new std::vector<ThermalClass>([] {
    const Table table(EmbeddedTable("thermal_classes"));
    std::vector<ThermalClass> loaded;
    for (int row = 0; row < table.rows(); ++row) {
      loaded.push_back({static_cast<int>(table.Number(row, "celsius").value()), std::string(table.Text(row, "letter")),
                        table.Number(row, "rise_kelvin"), table.Number(row, "rise_small_kelvin")});
    }
    return loaded;
  }());
  return classes;
}

absl::StatusOr<ThermalClass> FindThermalClass(absl::string_view name) {
  const std::string wanted = absl::AsciiStrToUpper(absl::StripAsciiWhitespace(name));
  for (const ThermalClass& known : ThermalClasses()) {
    if (!wanted.empty() && (wanted == known.letter || wanted == absl::StrCat(known.celsius))) return known;
  }
  if (wanted == "C") {
    return InvalidField("thermal_class", "C",
                        "the temperature itself; C is in print for over 180, for over 240 and for 200 degrees Celsius");
  }
  return InvalidField("thermal_class", wanted.empty() ? "nothing" : absl::StrCat("\"", wanted, "\""),
                      absl::StrJoin(ThermalClasses(), ", ", [](std::string* out, const ThermalClass& known) {
                        absl::StrAppend(out, known.celsius);
                        if (!known.letter.empty()) absl::StrAppend(out, " (", known.letter, ")");
                      }));
}

}  // namespace coilwright::standards
