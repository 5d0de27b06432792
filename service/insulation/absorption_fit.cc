#include "insulation/absorption_fit.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "insulation/student_t.h"

namespace coilwright::insulation {
namespace {

constexpr size_t kLeastBins = 8;
constexpr double kLeastExponent = 0.02, kMostExponent = 3.0, kExponentStep = 0.02;
// A constant current is given up where the law halves what is left of it beyond chance: F(2, n) above this has a chance
// below 1e-3 from eight bins on.
constexpr double kLeastFValue = 30;

// One bin made ready: s is the root of its weight.
struct Row {
  double log_time, y, s;
};

struct Problem {
  std::vector<Row> rows;
  double reference_seconds = 1;
  double mean = 0, mean_weight = 0, residuals_of_constant = 0;  // of a constant current
};

// Weighted by `currents`, one to a bin.
Problem Ready(const std::vector<BinnedCurrent>& bins, const std::vector<double>& currents) {
  Problem problem;
  double sum = 0;
  for (const BinnedCurrent& bin : bins) sum += std::log(bin.seconds);
  const double centre = sum / static_cast<double>(bins.size());
  problem.reference_seconds = std::exp(centre);
  double weighted = 0;
  for (size_t k = 0; k < bins.size(); ++k) {
    const Row row = {std::log(bins[k].seconds) - centre, bins[k].microamps, std::sqrt(bins[k].samples) / currents[k]};
    problem.rows.push_back(row);
    problem.mean_weight += row.s * row.s;
    weighted += row.s * row.s * row.y;
  }
  problem.mean = weighted / problem.mean_weight;
  for (const Row& row : problem.rows) problem.residuals_of_constant += std::pow(row.s * (row.y - problem.mean), 2);
  return problem;
}

double ChiSquare(const Problem& problem, double exponent, double absorption, double conduction) {
  double sum = 0;
  for (const Row& row : problem.rows) {
    sum += std::pow(row.s * (row.y - absorption * std::exp(-exponent * row.log_time) - conduction), 2);
  }
  return sum;
}

// Least squares for the two linear parameters, q[k] being t^-n.
ProfileNode NodeAt(const Problem& problem, double exponent, const std::vector<double>& q) {
  ProfileNode node;
  node.exponent = exponent;
  double qy = 0, y = 0;
  for (size_t k = 0; k < q.size(); ++k) {
    const Row& row = problem.rows[k];
    const double w = row.s * row.s;
    node.normal_aa += w * q[k] * q[k];
    node.normal_ac += w * q[k];
    node.normal_cc += w;
    qy += w * q[k] * row.y;
    y += w * row.y;
  }
  const double determinant = node.normal_aa * node.normal_cc - node.normal_ac * node.normal_ac;
  node.absorption = (qy * node.normal_cc - y * node.normal_ac) / determinant;
  node.conduction = (y * node.normal_aa - qy * node.normal_ac) / determinant;
  if (node.conduction < 0) {
    node.conduction = 0;
    node.absorption = qy / node.normal_aa;
  } else if (node.absorption < 0 || !std::isfinite(node.absorption)) {
    node.absorption = 0;
    node.conduction = y / node.normal_cc;
  }
  for (size_t k = 0; k < q.size(); ++k) {
    const Row& row = problem.rows[k];
    node.chi_square += std::pow(row.s * (row.y - node.absorption * q[k] - node.conduction), 2);
  }
  return node;
}

std::vector<ProfileNode> Profile(const Problem& problem) {
  std::vector<double> q, step;
  for (const Row& row : problem.rows) {
    q.push_back(std::exp(-kLeastExponent * row.log_time));
    step.push_back(std::exp(-kExponentStep * row.log_time));
  }
  std::vector<ProfileNode> profile;
  const int nodes = static_cast<int>(std::lround((kMostExponent - kLeastExponent) / kExponentStep)) + 1;
  for (int i = 0; i < nodes; ++i) {
    profile.push_back(NodeAt(problem, kLeastExponent + i * kExponentStep, q));
    for (size_t k = 0; k < q.size(); ++k) q[k] *= step[k];
  }
  return profile;
}

using Vector3 = std::array<double, 3>;
using Matrix3 = std::array<Vector3, 3>;

// Inverse of a symmetric positive matrix of the first `size` rows, scaled to a unit diagonal first; false where it is
// singular.
bool Invert(const Matrix3& matrix, size_t size, Matrix3* inverse) {
  Vector3 scale{};
  double work[3][6] = {};
  for (size_t i = 0; i < size; ++i) {
    if (!(matrix[i][i] > 0)) return false;
    scale[i] = 1 / std::sqrt(matrix[i][i]);
  }
  for (size_t i = 0; i < size; ++i) {
    for (size_t j = 0; j < size; ++j) work[i][j] = matrix[i][j] * scale[i] * scale[j];
    work[i][size + i] = 1;
  }
  for (size_t i = 0; i < size; ++i) {
    if (!(work[i][i] > 1e-14)) return false;
    const double pivot = work[i][i];
    for (size_t j = 0; j < 2 * size; ++j) work[i][j] /= pivot;
    for (size_t k = 0; k < size; ++k) {
      const double factor = work[k][i];
      if (k == i) continue;
      for (size_t j = 0; j < 2 * size; ++j) work[k][j] -= factor * work[i][j];
    }
  }
  for (size_t i = 0; i < size; ++i) {
    for (size_t j = 0; j < size; ++j) (*inverse)[i][j] = work[i][size + j] * scale[i] * scale[j];
  }
  return true;
}

// Parameters in the order absorption (at the reference time), exponent, conduction.
struct Linearised {
  Matrix3 normal{};
  Vector3 gradient{};
};

Linearised LineariseAt(const Problem& problem, const Vector3& p) {
  Linearised at;
  for (const Row& row : problem.rows) {
    const double q = std::exp(-p[1] * row.log_time);
    const Vector3 j = {row.s * q, -row.s * p[0] * q * row.log_time, row.s};
    const double residual = row.s * (row.y - p[0] * q - p[2]);
    for (size_t a = 0; a < 3; ++a) {
      at.gradient[a] += j[a] * residual;
      for (size_t b = 0; b < 3; ++b) at.normal[a][b] += j[a] * j[b];
    }
  }
  return at;
}

// Gauss-Newton with halved steps from a start near the minimum; conduction is held at 0 where `free` is 2.
Vector3 Polish(const Problem& problem, Vector3 p, size_t free) {
  double chi_square = ChiSquare(problem, p[1], p[0], p[2]);
  for (int round = 0; round < 40; ++round) {
    const Linearised at = LineariseAt(problem, p);
    Matrix3 inverse{};
    if (!Invert(at.normal, free, &inverse)) break;
    Vector3 move{};
    for (size_t a = 0; a < free; ++a) {
      for (size_t b = 0; b < free; ++b) move[a] += inverse[a][b] * at.gradient[b];
    }
    double share = 1;
    Vector3 next = p;
    double reached = chi_square;
    for (; share > 1e-6; share /= 2) {
      for (size_t a = 0; a < 3; ++a) next[a] = p[a] + share * move[a];
      reached = ChiSquare(problem, next[1], next[0], next[2]);
      if (reached <= chi_square) break;
    }
    if (!(reached <= chi_square)) break;
    p = next;
    chi_square = reached;
    if (std::abs(share * move[0]) < 1e-12 * std::abs(p[0]) && std::abs(share * move[1]) < 1e-12) break;
  }
  return p;
}

ProfileNode NodeAt(const Problem& problem, double exponent) {
  std::vector<double> q;
  for (const Row& row : problem.rows) q.push_back(std::exp(-exponent * row.log_time));
  return NodeAt(problem, exponent, q);
}

// Even steps over the exponents the data do not refute, found from a coarse profile, and the best one.
std::vector<ProfileNode> Region(const Problem& problem, const std::vector<ProfileNode>& coarse, double best,
                                double allowed) {
  double ends[] = {kLeastExponent, kMostExponent};
  for (const bool upper : {false, true}) {
    std::optional<double> outside;
    for (const ProfileNode& node : coarse) {
      if (node.chi_square <= allowed || (node.exponent > best) != upper) continue;
      if (!upper || !outside) outside = node.exponent;
    }
    if (!outside) continue;
    double out = *outside, in = best;
    for (int halving = 0; halving < 20; ++halving) {
      const double middle = (out + in) / 2;
      (NodeAt(problem, middle).chi_square > allowed ? out : in) = middle;
    }
    ends[upper] = in;
  }
  constexpr int kSteps = 64;
  std::vector<ProfileNode> region = {NodeAt(problem, best)};
  for (int i = 0; i <= kSteps; ++i) region.push_back(NodeAt(problem, ends[0] + (ends[1] - ends[0]) * i / kSteps));
  return region;
}

struct Found {
  Vector3 parameters{};
  bool at_an_end = false;  // of the exponents searched
  double chi_square = 0;
};

Found Minimum(const Problem& problem, const std::vector<ProfileNode>& profile) {
  const auto best = std::min_element(profile.begin(), profile.end(), [](const ProfileNode& a, const ProfileNode& b) {
    return a.chi_square < b.chi_square;
  });
  const Vector3 on_grid = {best->absorption, best->exponent, best->conduction};
  Found found{on_grid, best == profile.begin() || best == profile.end() - 1, best->chi_square};
  if (found.at_an_end || best->absorption <= 0) return found;
  Vector3 p = on_grid;
  if (best->conduction > 0) p = Polish(problem, p, 3);
  if (p[2] <= 0) p = Polish(problem, {best->absorption, best->exponent, 0}, 2);
  // Left the range, or the conduction free again: stay on the grid.
  if (!(p[1] > kLeastExponent && p[1] < kMostExponent && p[0] > 0 && p[2] >= 0)) return found;
  found.parameters = p;
  found.chi_square = std::min(ChiSquare(problem, p[1], p[0], p[2]), best->chi_square);
  return found;
}

// Values and errors of a law in which absorption is seen; false where the data do not tell its parameters apart.
bool SetLaw(const Problem& problem, const Vector3& p, double variance, AbsorptionFit& fit) {
  Matrix3 covariance{};
  if (!Invert(LineariseAt(problem, p).normal, 3, &covariance)) return false;
  for (Vector3& row : covariance) {
    for (double& entry : row) entry *= variance;
  }
  // A at 1 s is a * reference^n.
  const double to_1s = std::pow(fit.reference_seconds, p[1]), log_reference = std::log(fit.reference_seconds);
  const double by_a = to_1s, by_n = p[0] * to_1s * log_reference;
  const double of_a =
      by_a * by_a * covariance[0][0] + 2 * by_a * by_n * covariance[0][1] + by_n * by_n * covariance[1][1];
  fit.absorption_microamps_1s = {p[0] * to_1s, std::sqrt(std::max(of_a, 0.0))};
  fit.exponent = {p[1], std::sqrt(covariance[1][1])};
  fit.conduction_microamps = {p[2], std::sqrt(covariance[2][2])};
  return true;
}

}  // namespace

std::optional<AbsorptionFit> FitAbsorption(const std::vector<BinnedCurrent>& bins) {
  if (bins.size() < kLeastBins) return std::nullopt;
  AbsorptionFit fit;
  fit.bins = static_cast<int>(bins.size());
  fit.from_seconds = bins.front().seconds;
  fit.to_seconds = bins.back().seconds;
  std::vector<double> currents;
  for (const BinnedCurrent& bin : bins) currents.push_back(bin.microamps);
  Problem problem = Ready(bins, currents);
  // Weighted by the readings themselves, low ones would pull: the second time by the curve.
  const Vector3 first = Minimum(problem, Profile(problem)).parameters;
  for (size_t k = 0; k < bins.size(); ++k) {
    currents[k] = first[0] * std::exp(-first[1] * problem.rows[k].log_time) + first[2];
  }
  problem = Ready(bins, currents);
  fit.reference_seconds = problem.reference_seconds;
  fit.profile = Profile(problem);
  const auto [p, at_an_end, least] = Minimum(problem, fit.profile);
  const double chi_square = least;
  const double freedom = static_cast<double>(bins.size()) - 3;
  const double variance = chi_square / freedom;
  fit.scatter_ratio = std::sqrt(variance);
  fit.absorption_seen = !at_an_end && p[0] > 0 &&
                        (problem.residuals_of_constant - chi_square) / 2 > kLeastFValue * variance &&
                        SetLaw(problem, p, variance, fit);
  if (!fit.absorption_seen) {
    const double flat_variance = problem.residuals_of_constant / (freedom + 2);
    fit.conduction_microamps = {problem.mean, std::sqrt(flat_variance / problem.mean_weight)};
  }
  fit.conduction_seen = fit.conduction_microamps.value > 2 * fit.conduction_microamps.standard_error;
  // Rounding leaves something where the data are exact.
  const double rounding = 1e-24 * static_cast<double>(bins.size());
  fit.allowed_chi_square = chi_square + std::max(std::pow(StudentT(0.95, fit.bins - 3), 2) * variance, rounding);
  fit.profile = Region(problem, fit.profile, p[1], fit.allowed_chi_square);
  return fit;
}

namespace {

// The least and greatest of a smooth function of (absorption, conduction) over the region the data leave, first order
// about each node.
template <typename Function, typename Gradient>
standards::Band OverRegion(const AbsorptionFit& fit, Function value, Gradient gradient) {
  const ProfileNode* best = &fit.profile.back();
  for (const ProfileNode& node : fit.profile) {
    if (node.chi_square < best->chi_square) best = &node;
  }
  const double nominal = value(*best, best->absorption, best->conduction);
  standards::Band band{nominal, nominal, nominal};
  for (const ProfileNode& node : fit.profile) {
    const double left = fit.allowed_chi_square - node.chi_square;
    if (!(left >= 0)) continue;
    const auto [ga, gc] = gradient(node);
    const double determinant = node.normal_aa * node.normal_cc - node.normal_ac * node.normal_ac;
    if (!(determinant > 0)) continue;
    // The farthest point of the ellipse along the gradient, both ways.
    const double va = (node.normal_cc * ga - node.normal_ac * gc) / determinant;
    const double vc = (node.normal_aa * gc - node.normal_ac * ga) / determinant;
    const double length = ga * va + gc * vc;
    const double reach = length > 0 ? std::sqrt(left / length) : 0;
    for (const double way : {-reach, reach}) {
      const double reached =
          value(node, std::max(node.absorption + way * va, 0.0), std::max(node.conduction + way * vc, 0.0));
      if (!std::isfinite(reached)) continue;
      band.low = std::min(band.low, reached);
      band.high = std::max(band.high, reached);
    }
  }
  return band;
}

}  // namespace

standards::Band RatioForecast(const AbsorptionFit& fit, double earlier_seconds, double later_seconds) {
  const double early = std::log(earlier_seconds / fit.reference_seconds);
  const double late = std::log(later_seconds / fit.reference_seconds);
  const auto powers = [&](const ProfileNode& node) {
    return std::pair<double, double>(std::exp(-node.exponent * early), std::exp(-node.exponent * late));
  };
  return OverRegion(
      fit,
      [&](const ProfileNode& node, double absorption, double conduction) {
        const auto [first, second] = powers(node);
        return (absorption * first + conduction) / (absorption * second + conduction);
      },
      [&](const ProfileNode& node) {
        const auto [first, second] = powers(node);
        const double earlier = node.absorption * first + node.conduction;
        const double later = node.absorption * second + node.conduction;
        return std::pair<double, double>(first / earlier - second / later, 1 / earlier - 1 / later);
      });
}

standards::Band CurrentForecast(const AbsorptionFit& fit, double seconds) {
  const double log_time = std::log(seconds / fit.reference_seconds);
  return OverRegion(
      fit,
      [&](const ProfileNode& node, double absorption, double conduction) {
        return absorption * std::exp(-node.exponent * log_time) + conduction;
      },
      [&](const ProfileNode& node) { return std::pair<double, double>(std::exp(-node.exponent * log_time), 1.0); });
}

}  // namespace coilwright::insulation
