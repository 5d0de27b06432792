#include <algorithm>
#include <cmath>

#include "plan/check_model.h"
#include "plan/check_settings.h"
#include "plan/predict.h"
#include "standards/units.h"

namespace coilwright::plan {
namespace {

// Chances beside those of the table of slips (own judgement, no source).
constexpr double kUnexplainedChance = 0.02;
constexpr double kSecondSlipShare = 0.5;    // of the product of both chances
constexpr double kUnusualCircuits = 0.003;  // unequal circuits exist on purpose in large machines only

// Ranges met in practice have machines outside them: this share lies three times as far, but none far beyond
// what explains nothing.
constexpr double kOdd = 0.05;
constexpr double kOddSpread = 3;

// What is not on the list moves a measurement by anything: mostly up to a few times, sometimes a thousand times. Half
// the width of such a distribution at half its height (Cauchy), of the logarithm; and the share of ranges it moves.
constexpr double kUnexplainedWidth = 0.6;
constexpr double kUnexplainedMoves = 0.5;

using standards::kPi;
constexpr double kLnRoot2Pi = 0.91893853320467274178;

double LnNormal(double z, double sigma) { return -z * z / 2 - std::log(sigma) - kLnRoot2Pi; }

// Of a standard score whose tail is fat; the share of the width is the same for all hypotheses and left out.
double LnRange(double z) {
  const double squares = std::min(z * z, Square(CheckBounds().explained_sigmas)) / 2;
  const double usual = std::exp(-squares), unusual = std::exp(-squares / (kOddSpread * kOddSpread)) / kOddSpread;
  return std::log((1 - kOdd) * usual + kOdd * unusual) - (z * z / 2 - squares);
}

double Cauchy(double x, double width) { return width / (kPi * (x * x + width * width)); }

// On the same footing as LnRange, whose width and root of two pi are left out.
double LnUnexplainedRange(double z, double sigma) {
  const double width = std::max(1.5, kUnexplainedWidth / sigma);
  return std::log((1 - kUnexplainedMoves) * std::exp(-z * z / 2) +
                  kUnexplainedMoves * Cauchy(z, width) * std::exp(kLnRoot2Pi));
}

bool Hard(const Measured& measured) { return measured.quantity == kResistance || measured.quantity == kMass; }

class Likelihood {
 public:
  explicit Likelihood(const Model& model) : model_(model) {
    for (const Measured& measured : model.measured) {
      if (measured.quantity == kMass) mass_ = &measured;
    }
  }

  double Of(const Logs& effect, double resistance_sigma, double mass_sigma) const {
    double ln = 0;
    const double mass = mass_ ? mass_->residual + effect[kMass] : 0;
    const double mass_variance = mass_ ? Square(mass_->sigma_low) + Square(mass_sigma) : 0;
    if (model_.ohms) {
      ln += OfTheReading(effect, resistance_sigma, mass, mass_variance);
    } else if (mass_) {
      const double sigma = std::sqrt(mass_variance);
      ln += LnNormal(mass / sigma, sigma);
    }
    for (const Measured& measured : model_.measured) {
      if (Hard(measured)) continue;
      const double residual = measured.residual + effect[measured.quantity];
      ln += LnRange(residual / measured.sigma(residual));
    }
    return ln;
  }

  double OfTheUnexplained() const {
    double ln = 0;
    for (const Measured& measured : model_.measured) {
      const double sigma = measured.sigma(measured.residual);
      ln += Hard(measured) ? std::log(Cauchy(measured.residual, kUnexplainedWidth))
                           : LnUnexplainedRange(measured.residual / sigma, sigma);
    }
    return ln;
  }

 private:
  // Resistance, and mass where it was weighed, over every kind of lead. The mean turn moves both the same way, the wire
  // area one against the other, and the leads neither.
  double OfTheReading(const Logs& effect, double extra_sigma, double m, double mm) const {
    const OhmsPrediction& p = *model_.ohms;
    const double coils = p.coil_ohms * std::exp(effect[kResistance] - effect[kReading]);
    const double found = std::log(p.found_ohms) - effect[kReading];
    const double turn = Square(p.turn_sigma), area = Square(p.area_sigma);
    double sum = 0, greatest = 0;
    for (const LeadKind& lead : p.leads) {
      const double ohms = coils + lead.ohms, share = coils / ohms;
      const double r = std::log(ohms) - found;
      const double rr =
          Square(p.own_sigma) + Square(extra_sigma) + Square(lead.sigma_ohms / ohms) + Square(share) * (turn + area);
      double ln = std::log(lead.chance);
      if (mass_) {
        const double rm = share * (turn - area);
        const double determinant = rr * mm - rm * rm;
        ln -=
            (mm * r * r - 2 * rm * r * m + rr * m * m) / (2 * determinant) + std::log(determinant) / 2 + 2 * kLnRoot2Pi;
      } else {
        ln -= r * r / rr / 2 + std::log(rr) / 2 + kLnRoot2Pi;
      }
      if (sum == 0) {
        sum = 1;
        greatest = ln;
      } else if (ln > greatest) {
        sum = 1 + sum * std::exp(greatest - ln);
        greatest = ln;
      } else {
        sum += std::exp(ln - greatest);
      }
    }
    return greatest + std::log(sum);
  }

  const Model& model_;
  const Measured* mass_ = nullptr;
};

bool MoveTheSame(const Shift& one, const Shift& other) {
  for (size_t value = 0; value < kValues; ++value) {
    if (one[value] != 0 && other[value] != 0) return true;
  }
  return false;
}

Logs Sum(const Logs& one, const Logs& other) {
  Logs sum;
  for (size_t i = 0; i < kQuantities; ++i) sum[i] = one[i] + other[i];
  return sum;
}

}  // namespace

Ranking Rank(const Model& model, const std::vector<Slip>& slips) {
  const Likelihood likelihood(model);
  // Until the end the probability holds a logarithm.
  std::vector<Hypothesis> all;
  double chance_of_any = kUnexplainedChance;
  for (const Slip& slip : slips) chance_of_any += slip.chance;
  const double ln_sound = std::log(std::max(0.2, 1 - chance_of_any));
  const double ln_unusual = model.circuits_permitted ? 0 : std::log(kUnusualCircuits);
  const auto unusual = [&](const Slip& slip) {
    return slip.shift[kCircuits] == 0 && !slip.permits_circuits ? ln_unusual : 0;
  };
  all.push_back({-1, -1, ln_sound + ln_unusual + likelihood.Of({}, 0, 0), {}});
  const int count = static_cast<int>(slips.size());
  for (int i = 0; i < count; ++i) {
    const Slip& one = slips[static_cast<size_t>(i)];
    all.push_back(
        {i, -1, std::log(one.chance) + unusual(one) + likelihood.Of(one.effect, one.resistance_sigma, one.mass_sigma),
         one.effect});
    for (int j = i + 1; j < count; ++j) {
      const Slip& two = slips[static_cast<size_t>(j)];
      if (MoveTheSame(one.shift, two.shift)) continue;
      const Logs effect = Sum(one.effect, two.effect);
      all.push_back({i, j,
                     std::log(one.chance * two.chance * kSecondSlipShare) + std::max(unusual(one), unusual(two)) +
                         likelihood.Of(effect, std::hypot(one.resistance_sigma, two.resistance_sigma),
                                       std::hypot(one.mass_sigma, two.mass_sigma)),
                     effect});
    }
  }
  const double ln_unexplained = std::log(kUnexplainedChance) + likelihood.OfTheUnexplained();
  double greatest = ln_unexplained;
  for (const Hypothesis& h : all) greatest = std::max(greatest, h.probability);
  double sum = std::exp(ln_unexplained - greatest);
  for (Hypothesis& h : all) sum += h.probability = std::exp(h.probability - greatest);
  for (Hypothesis& h : all) h.probability /= sum;
  std::stable_sort(all.begin(), all.end(),
                   [](const Hypothesis& a, const Hypothesis& b) { return a.probability > b.probability; });
  return {std::move(all), std::exp(ln_unexplained - greatest) / sum, greatest + std::log(sum)};
}

bool CannotBeToldApart(const Model& model, const Logs& one, const Logs& other) {
  return std::all_of(model.measured.begin(), model.measured.end(), [&](const Measured& m) {
    return std::abs(model.Moved(m, one) - model.Moved(m, other)) < 2 * m.sigma();
  });
}

}  // namespace coilwright::plan
