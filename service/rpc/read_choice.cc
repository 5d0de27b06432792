#include <cmath>

#include "absl/strings/str_cat.h"
#include "rpc/read_record.h"

namespace coilwright::rpc {
namespace {

standards::Film DefaultFilm(standards::WireSystem system) {
  return system == standards::WireSystem::kAwg ? standards::Film::kHeavy : standards::Film::kGrade2;
}

// A measured diameter: with a film diameter beside it the wire is as measured, else the nearest table film of its
// system.
std::optional<wire::Wire> FromMeasured(const Reader& size, double bare_mm, std::optional<double> overall_mm) {
  if (overall_mm) {
    if (*overall_mm >= bare_mm && *overall_mm <= 2.0 * bare_mm) return wire::FromDiameters(bare_mm, *overall_mm);
    size.Wrong("overall_diameter", absl::StrCat(*overall_mm, " mm over a bare wire of ", bare_mm, " mm"),
               absl::StrCat(bare_mm, " mm to ", 2.0 * bare_mm, " mm"));
    return std::nullopt;
  }
  // The film of the nearest grade 2 size, moved onto the measured metal.
  const std::vector<wire::Wire> metric = wire::Catalogue(standards::WireSystem::kIecR20, standards::Film::kGrade2);
  const wire::Wire* nearest = &metric.front();
  for (const wire::Wire& wire : metric) {
    if (std::abs(wire.bare_mm.nominal - bare_mm) < std::abs(nearest->bare_mm.nominal - bare_mm)) nearest = &wire;
  }
  wire::Wire wire = wire::FromDiameters(bare_mm, bare_mm + nearest->overall_mm.nominal - nearest->bare_mm.nominal);
  wire.film_assumed = true;
  return wire;
}

std::optional<wire::Wire> FromDesignation(const Reader& size, const std::string& text) {
  absl::StatusOr<wire::Wire> parsed = wire::Parse(text);
  if (!parsed.ok()) {
    const std::vector<standards::FieldError> wrong = standards::FieldErrorsOf(parsed.status());
    size.Wrong("designation", absl::StrCat("\"", text, "\""),
               wrong.empty() ? std::string(parsed.status().message()) : wrong[0].accepted);
    return std::nullopt;
  }
  const std::optional<standards::Film> film = size.Enum<standards::Film>("film");
  if (parsed->film != standards::Film::kBare && film && *film != parsed->film) {
    size.Wrong("film", absl::StrCat(standards::FilmName(*film), " beside \"", text, "\""),
               "the film of the designation, or none here");
    return std::nullopt;
  }
  if (parsed->film != standards::Film::kBare || film == standards::Film::kBare) return *parsed;
  absl::StatusOr<wire::Wire> filmed =
      wire::LookUp(parsed->system, parsed->size, film.value_or(DefaultFilm(parsed->system)));
  if (!filmed.ok() && !film) filmed = wire::LookUp(parsed->system, parsed->size, standards::Film::kBare);
  if (!filmed.ok()) {
    size.Wrong("film", absl::StrCat("a film that ", text, " is not made with"), filmed.status().message());
    return std::nullopt;
  }
  return *filmed;
}

}  // namespace

std::optional<wire::Wire> ReadWire(const Reader& reader, absl::string_view field) {
  const Reader size = reader.At(field);
  const std::optional<double> overall_mm = size.Mm("overall_diameter", {0.01, 12, "mm"});
  if (size.Has("bare_diameter")) {
    const std::optional<double> bare_mm = size.Mm("bare_diameter", {0.01, 10, "mm"});
    if (bare_mm) return FromMeasured(size, *bare_mm, overall_mm);
    if (!size.HasErrorAt("bare_diameter")) size.Missing("bare_diameter", "0.01 mm to 10 mm");
    return std::nullopt;
  }
  const std::string text = size.Text("designation", 100);
  if (!text.empty()) return FromDesignation(size, text);
  if (!size.HasErrorAt(""))
    size.Missing("designation", "a size such as \"AWG 18 heavy\" or \"0.71 mm grade 2\", or bare_diameter");
  return std::nullopt;
}

std::vector<plan::RecordedStrand> ReadStrands(const Reader& reader, absl::string_view field) {
  std::vector<plan::RecordedStrand> strands;
  int in_hand = 0;
  for (const Reader& strand : reader.Each(field, 10)) {
    const int count = strand.Has("wires_in_hand") ? strand.Count("wires_in_hand", 1, 200).value_or(1) : 1;
    in_hand += count;
    if (const std::optional<wire::Wire> wire = ReadWire(strand, "wire")) strands.push_back({*wire, count});
  }
  if (in_hand > 200) reader.Wrong(field, absl::StrCat(in_hand, " wires in hand"), "at most 200 in one turn");
  return strands;
}

plan::WireChoice ReadWireChoice(const Reader& choice) {
  plan::WireChoice read;
  const auto& message = choice.message();
  const auto* reflection = message.GetReflection();
  const auto* systems = message.GetDescriptor()->FindFieldByName("systems");
  const int system_count = reflection->FieldSize(message, systems);
  const std::optional<standards::Film> film = choice.Enum<standards::Film>("film");
  if (system_count > 8) choice.Wrong("systems", absl::StrCat(system_count, " entries"), "at most 8");
  for (int i = 0; i < std::min(system_count, 8); ++i) {
    const int number = reflection->GetRepeatedEnumValue(message, systems, i);
    if (number < 1 || systems->enum_type()->FindValueByNumber(number) == nullptr) {
      if (number == 0) choice.Wrong(absl::StrCat("systems[", i, "]"), "unspecified", choice.EnumChoices("systems"));
      continue;
    }
    const auto system = static_cast<standards::WireSystem>(number - 1);
    std::vector<wire::Wire> catalogue = wire::Catalogue(system, film.value_or(DefaultFilm(system)));
    if (catalogue.empty()) {
      choice.Wrong("film", absl::StrCat(standards::FilmName(*film)),
                   absl::StrCat("a film that ", standards::SystemName(system), " is made with"));
    }
    for (wire::Wire& wire : catalogue) read.wires.push_back({std::move(wire), std::nullopt});
  }
  const std::vector<Reader> stock = choice.Each("stock", 500);
  if (!stock.empty() && system_count > 0)
    choice.Wrong("systems", "given beside stock", "either series to choose from, or a stock");
  for (const Reader& item : stock) {
    const std::optional<wire::Wire> wire = ReadWire(item, "wire");
    std::optional<double> length_m = item.Number("length_left_metres", {0, 1e7, "m"});
    const std::optional<double> kg = item.Number("mass_left_kg", {0, 1e5, "kg"});
    if (wire && kg) length_m = *kg / wire::CoatedKgPerKm(*wire, standards::Metal::kCopper) * 1000.0;
    if (wire) read.wires.push_back({*wire, length_m});
  }
  read.mix_systems = !stock.empty();
  read.least_area_ratio = choice.Number("least_area_ratio", {0.5, 1.0, ""}).value_or(read.least_area_ratio);
  read.greatest_area_ratio = choice.Number("greatest_area_ratio", {1.0, 2.0, ""}).value_or(read.greatest_area_ratio);
  read.area_tolerance_ratio =
      choice.Number("area_tolerance_ratio", {0.001, 0.1, ""}).value_or(read.area_tolerance_ratio);
  read.most_in_hand = choice.Count("most_wires_in_hand", 1, 30).value_or(read.most_in_hand);
  read.most_sizes = choice.Count("most_sizes", 1, 3).value_or(read.most_sizes);
  // A search over a shelf takes time with the square of this product; at the limit it is some hundredths of a second.
  constexpr size_t kMostWiresTimesInHand = 3000;
  if (read.most_sizes == 3 && stock.size() * static_cast<size_t>(read.most_in_hand) > kMostWiresTimesInHand) {
    choice.Wrong("most_wires_in_hand", absl::StrCat(read.most_in_hand, " from a stock of ", stock.size(), " wires"),
                 absl::StrCat("at most ", kMostWiresTimesInHand / stock.size(), " of so many, or most_sizes 2"));
  }
  read.greatest_bare_mm = choice.Mm("greatest_bare_diameter", {0.01, 10, "mm"}).value_or(read.greatest_bare_mm);
  read.greatest_diameter_ratio =
      choice.Number("greatest_diameter_ratio", {1, 1000, ""}).value_or(read.greatest_diameter_ratio);
  read.greatest_fullness = choice.Number("greatest_fullness_ratio", {0.05, 1.5, ""}).value_or(read.greatest_fullness);
  read.opening_clearance_mm = choice.Mm("opening_clearance", {0, 10, "mm"}).value_or(read.opening_clearance_mm);
  read.best = choice.Count("best", 1, 100).value_or(read.best);
  return read;
}

}  // namespace coilwright::rpc
