#include <algorithm>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"
#include "standards/range_check.h"
#include "testing/level_tables.h"
#include "testing/programme_steps.h"

namespace coilwright::testing {
namespace {

using standards::WithUnit;

std::string Beyond(double volts, const std::optional<double>& greatest, absl::string_view shape) {
  if (!greatest || volts <= *greatest) return "";
  const std::string has = *greatest > 0 ? absl::StrCat("gives at most ", WithUnit(*greatest, "V"), " ", shape)
                                        : absl::StrCat("has no ", shape, " test set");
  return absl::StrCat("the bench ", has, ", this step needs ", WithUnit(volts, "V"),
                      ": left out, a test below its level proves nothing");
}

std::string WhyNoMegohms(const Bench& b) {
  return WhyNoMegohmsAt(b.megohms.test_volts_dc_low, b.megohms.test_volts_dc_high, b);
}

// Nothing higher goes on a winding whose megohms have not passed.
std::string WhyNothingHigher(const Bench& b) {
  const std::string why = WhyNoMegohms(b);
  return why.empty() ? "" : absl::StrCat("the insulation resistance has to pass first, and ", why);
}

std::string WhyNoAc(const Bench& b) {
  return b.withstand.ok() ? Beyond(b.StageWithstandVolts(), b.c.bench.greatest_withstand_volts_ac, "ac") : "";
}

std::string WhyNoDc(const Bench& b) {
  return b.withstand.ok()
             ? Beyond(b.withstand_share * b.withstand->dc.volts, b.c.bench.greatest_withstand_volts_dc, "dc withstand")
             : "";
}

}  // namespace

double Shop(const std::optional<double>& own, absl::string_view name) { return own ? *own : Setting(name); }

std::string WhyNoMegohmsAt(double low_volts, double high_volts, const Bench& b) {
  const std::vector<double>& has = b.c.bench.megohm_test_volts_dc;
  const auto fits = [&](double volts) { return volts >= low_volts && volts <= high_volts; };
  if (has.empty() || std::any_of(has.begin(), has.end(), fits)) return "";
  return absl::StrCat("the megohm meter of the bench has ", absl::StrJoin(has, ", "), " V dc, this step needs ",
                      low_volts == high_volts
                          ? WithUnit(low_volts, "V")
                          : absl::StrCat(WithUnit(low_volts, "V"), " to ", WithUnit(high_volts, "V")));
}

bool DcStandsInForAc(const Bench& b) { return b.withstand.ok() && b.withstand->dc.applicable && !WhyNoAc(b).empty(); }

std::string WhyBenchCannot(TestKind kind, const Bench& b) {
  const BenchMeans& bench = b.c.bench;
  std::string why;
  switch (kind) {
    case TestKind::kMegohms:
      return WhyNoMegohms(b);
    case TestKind::kPhaseMegohms:
    case TestKind::kAbsorptionRatio:
      return WhyNothingHigher(b);
    case TestKind::kPolarizationIndex:
      why = WhyNothingHigher(b);
      if (why.empty() && !bench.polarization_run.value_or(true))
        return "the bench cannot hold its voltage for ten minutes";
      return why;
    case TestKind::kSurge:
      why = WhyNothingHigher(b);
      return why.empty() && b.surge.ok() ? Beyond(b.surge->volts_peak, bench.greatest_surge_volts_peak, "peak surge")
                                         : why;
    case TestKind::kWithstandAc:
      why = WhyNothingHigher(b);
      return why.empty() ? WhyNoAc(b) : why;
    case TestKind::kWithstandDc:
      why = WhyNothingHigher(b);
      return why.empty() ? WhyNoDc(b) : why;
    case TestKind::kWindingResistance:
      if (bench.least_ohms && b.c.expected_line_to_line_ohms_low &&
          *b.c.expected_line_to_line_ohms_low < *bench.least_ohms)
        return absl::StrCat("the bench compares from ", WithUnit(*bench.least_ohms, "ohms"), " on, this winding has ",
                            WithUnit(*b.c.expected_line_to_line_ohms_low, "ohms"), " or more: needs a finer bridge");
      return "";
    case TestKind::kCoreLoss:
      return bench.ring_flux_supply.value_or(true) ? "" : "the bench has no supply for the ring flux";
    default:
      return "";
  }
}

}  // namespace coilwright::testing
