#include "electric/copper.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "standards/errors.h"

namespace coilwright::electric {
namespace {

WindingCopper Winding() {
  WindingCopper copper;
  copper.coils = 36;
  copper.turns_per_coil = 34;
  copper.mean_turn_m = {0.49, 0.5072, 0.52};
  return copper;
}

// 36 coils of 34 turns, mean turn 0.5072 m, two wires of 0.71 mm: 4.370 kg bare by hand.
TEST(WireToOrder, IsTheWindingPlusLeadsPlusWaste) {
  const auto orders = WireToOrder(Winding(), {{0.71, 0.71, 2}}, {0, 0});
  ASSERT_TRUE(orders.ok()) << orders.status();
  EXPECT_NEAR(orders->at(0).bare_kg.nominal, 4.370, 5e-4);
  EXPECT_DOUBLE_EQ(orders->at(0).coated_kg.nominal, orders->at(0).bare_kg.nominal);
  EXPECT_NEAR(orders->at(0).metres.nominal, 36 * 34 * 2 * 0.5072, 1e-9);
  const auto usual = WireToOrder(Winding(), {{0.71, 0.71, 2}});
  ASSERT_TRUE(usual.ok());
  EXPECT_NEAR(usual->at(0).bare_kg.nominal, 4.370 * 1.04 * 1.08, 6e-4);
}

// Share of heavy film on the mass of the copper, outer diameters of IEC 60317-0-1 grade 2 and film density from memory:
// 6.2 % at 0.25 mm, 4.5 % at 0.5 mm, 3.0 % at 1 mm; the greatest overall diameter against a typical one makes half a
// point.
TEST(WireToOrder, AddsTheFilm) {
  for (const auto& [bare, overall, share] :
       {std::tuple{0.25, 0.301, 0.062}, {0.50, 0.569, 0.045}, {1.00, 1.094, 0.030}}) {
    const auto orders = WireToOrder(Winding(), {{bare, overall, 1}});
    ASSERT_TRUE(orders.ok());
    EXPECT_NEAR(orders->at(0).coated_kg.nominal / orders->at(0).bare_kg.nominal - 1, share, 8e-3) << bare;
  }
}

TEST(WireToOrder, KeepsSizesApartAndCarriesTheBand) {
  const auto orders = WireToOrder(Winding(), {{0.71, 0.789, 2}, {0.75, 0.832, 1}});
  ASSERT_TRUE(orders.ok());
  ASSERT_EQ(orders->size(), 2u);
  EXPECT_NEAR(orders->at(0).metres.nominal, 2 * orders->at(1).metres.nominal, 1e-9);
  EXPECT_NEAR(orders->at(0).coated_kg.high / orders->at(0).coated_kg.nominal, 0.52 / 0.5072, 1e-9);
  EXPECT_NEAR(orders->at(0).coated_kg.low / orders->at(0).coated_kg.nominal, 0.49 / 0.5072, 1e-9);
}

TEST(WireToOrder, RefusesWhatIsNoOrder) {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  const auto wrong = [](const std::vector<WireSize>& sizes, const OrderAllowance& allowance) {
    std::vector<std::string> fields;
    for (const auto& error : standards::FieldErrorsOf(WireToOrder(Winding(), sizes, allowance).status())) {
      fields.push_back(error.field);
    }
    return fields;
  };
  using testing::ElementsAre;
  EXPECT_THAT(wrong({}, {}), ElementsAre("sizes"));
  EXPECT_THAT(wrong({{0, 0, 0}}, {-0.01, 1.01}),
              ElementsAre("lead_ratio", "waste_ratio", "sizes[0].bare_mm", "sizes[0].wires"));
  EXPECT_THAT(wrong({{0.5, 0.49, 1}, {nan, 1, 1000000000}}, {nan, 0}),
              ElementsAre("lead_ratio", "sizes[0].overall_mm", "sizes[1].bare_mm", "sizes[1].wires"));
  EXPECT_THAT(wrong({{0.5, 1.0, 1000}}, {0, 1}), testing::IsEmpty());
}

}  // namespace
}  // namespace coilwright::electric
