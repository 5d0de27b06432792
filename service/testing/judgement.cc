#include "testing/judgement.h"

#include <algorithm>
#include <cmath>

#include "standards/rule_ids.h"

namespace coilwright::testing {

void Decide(double value, const GuardBand& guard, JudgedTest& test) {
  const Limit& limit = test.limit;
  const bool low = limit.low && limit.kind != LimitKind::kAtMost;
  const bool high = limit.high && limit.kind != LimitKind::kAtLeast;
  if (!low && !high) return;
  // What is missing to a pass on the side that is nearer, and how far outside.
  double margin = 0, wanted = 0;
  if (low) {
    margin = value - *limit.low;
    wanted = guard.shop_margin_ratio * std::abs(*limit.low);
  }
  if (high && (!low || *limit.high - value < margin)) {
    margin = *limit.high - value;
    wanted = guard.shop_margin_ratio * std::abs(*limit.high);
  }
  test.margin = margin;
  test.guard_band_rule = rules::shop_judgement_guard_band;
  test.rules.push_back(rules::shop_judgement_guard_band);
  if (margin >= std::max(guard.expanded_uncertainty, wanted)) {
    test.verdict = Verdict::kPass;
  } else {
    test.verdict = margin >= -guard.expanded_uncertainty ? Verdict::kMarginal : Verdict::kFail;
  }
}

Limit AtMost(double high, std::string unit, std::string text, absl::string_view rule) {
  Limit limit;
  limit.kind = LimitKind::kAtMost;
  limit.high = high;
  limit.unit = std::move(unit);
  limit.text = std::move(text);
  limit.rule = rule;
  return limit;
}

Limit Within(double low, double high, std::string unit, std::string text, absl::string_view rule) {
  Limit limit = AtMost(high, std::move(unit), std::move(text), rule);
  limit.kind = LimitKind::kWithin;
  limit.low = low;
  return limit;
}

}  // namespace coilwright::testing
