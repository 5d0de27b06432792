#include "test_choice.h"

namespace coilwright::cli {

std::vector<Flag> TestChoiceFlags() {
  return {
      {"family", "FAMILY", "choice.family", "iec (default), nema, ar100"},
      {"condition", "STATE", "choice.condition",
       "fully-rewound (default), partly-rewound, new, reconditioned, not-reconditioned, repeat, "
       "production-test, after-installation, before-treatment"},
      {"edition", "EDITION", "choice.megohm_edition", "megohm rule: 2013 (default), 2000, 1974, one-per-kilovolt"},
      {"insulation", "FAMILY", "choice.insulation_family", "thermosetting (default), thermoplastic"},
      {"shop-megohms", "MEGOHMS", "choice.shop_expectation_megohms", "what the shop expects of a new winding (100)"},
      {"unbalance", "PERCENT", "choice.resistance_unbalance_percent",
       "greatest resistance unbalance (2, form wound 1)"},
      {"share", "RATIO", "choice.before_treatment_share", "share of the withstand level before treatment (0.8)"}};
}

}  // namespace coilwright::cli
