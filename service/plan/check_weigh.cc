#include <algorithm>
#include <cmath>
#include <numeric>

#include "absl/strings/str_cat.h"
#include "absl/strings/str_join.h"
#include "plan/check_steps.h"
#include "standards/rule_ids.h"

namespace coilwright::plan {
namespace {

// Hypotheses with the leader of a group they cannot be told apart from share its group.
struct Grouped {
  std::vector<Logs> leaders;
  std::vector<double> probabilities;

  size_t Find(const Model& model, const Logs& effect) {
    for (size_t g = 0; g < leaders.size(); ++g) {
      if (CannotBeToldApart(model, leaders[g], effect)) return g;
    }
    leaders.push_back(effect);
    probabilities.push_back(0);
    return leaders.size() - 1;
  }
};

// A second slip that changes nothing anyone measured is not worth a line beside the first alone.
bool AddsNothing(const Explanation& pair, int group, const std::vector<Explanation>& listed) {
  if (pair.corrections.size() != 2) return false;
  return std::any_of(listed.begin(), listed.end(), [&](const Explanation& e) {
    if (e.group != group || e.corrections.size() > 1) return false;
    return e.corrections.empty() || e.corrections[0].slip == pair.corrections[0].slip ||
           e.corrections[0].slip == pair.corrections[1].slip;
  });
}

// Groups stand by what all their members have together, since nothing here tells those apart.
void LikeliestGroupFirst(const std::vector<double>& probabilities, std::vector<Explanation>& explanations,
                         std::vector<Hypothesis>& listed) {
  std::vector<size_t> order(explanations.size());
  std::iota(order.begin(), order.end(), size_t{0});
  std::stable_sort(order.begin(), order.end(), [&](size_t a, size_t b) {
    return probabilities[static_cast<size_t>(explanations[a].group)] >
           probabilities[static_cast<size_t>(explanations[b].group)];
  });
  std::vector<Explanation> sorted;
  std::vector<Hypothesis> hypotheses;
  for (const size_t i : order) {
    sorted.push_back(std::move(explanations[i]));
    hypotheses.push_back(listed[i]);
  }
  explanations = std::move(sorted);
  listed = std::move(hypotheses);
}

// Groups of what is listed, in their order.
void NumberGroups(const std::vector<double>& probabilities, RecordCheck& check) {
  std::vector<int> numbers(probabilities.size(), -1);
  for (Explanation& e : check.explanations) {
    int& number = numbers[static_cast<size_t>(e.group)];
    if (number < 0) {
      number = static_cast<int>(check.group_probabilities.size());
      check.group_probabilities.push_back(probabilities[static_cast<size_t>(e.group)]);
    }
    e.group = number;
  }
}

}  // namespace

// A true value that is itself uncertain (how warm was it?) widens what it is compared by.
std::vector<double> SigmasOf(const Model& model, const Hypothesis& h, const std::vector<Slip>& slips) {
  double resistance = 0, mass = 0;
  for (const int index : {h.first, h.second}) {
    if (index < 0) continue;
    resistance = std::hypot(resistance, slips[static_cast<size_t>(index)].resistance_sigma);
    mass = std::hypot(mass, slips[static_cast<size_t>(index)].mass_sigma);
  }
  std::vector<double> sigmas;
  for (const Measured& m : model.measured) {
    const double residual = m.residual + model.Moved(m, h.effect);
    const double extra = m.quantity == kResistance ? resistance : m.quantity == kMass ? mass : 0;
    sigmas.push_back(residual / std::hypot(m.sigma(residual), extra));
  }
  return sigmas;
}

bool AccusesNobody(const Explanation& explanation) {
  return std::all_of(explanation.corrections.begin(), explanation.corrections.end(),
                     [](const Correction& c) { return c.slip == kWeakMagnets; });
}

std::string TextOf(const Explanation& explanation) {
  std::vector<std::string> words;
  for (const Correction& c : explanation.corrections) {
    if (c.slip == kWeakMagnets) {
      words.push_back(absl::StrCat(c.what, " (measured ", c.recorded, ", ", c.reads, ")"));
      continue;
    }
    words.push_back(absl::StrCat(c.what, " (", c.field, ": ", c.recorded, " should read ", c.reads, ")"));
  }
  return absl::StrJoin(words, ", and ");
}

double WorstSigmas(const std::vector<double>& sigmas, size_t* at) {
  double worst = 0;
  for (size_t i = 0; i < sigmas.size(); ++i) {
    if (std::abs(sigmas[i]) < std::abs(worst)) continue;
    worst = sigmas[i];
    if (at) *at = i;
  }
  return std::abs(worst);
}

Weighed Weigh(const Record& record, const Original& original, const Settings& settings, Moment moment) {
  Weighed weighed;
  RecordCheck& check = weighed.check;
  check.moment = moment;
  const Model model = ModelOf(record, original, settings, moment == Moment::kStripped);
  const std::vector<Slip> slips = SlipsOf(record, original, settings);
  const Ranking ranking = Rank(model, slips);
  check.unexplained_probability = ranking.unexplained_probability;
  weighed.ln_evidence = ranking.ln_evidence;

  const std::vector<double> as_recorded = SigmasOf(model, {}, slips);
  for (size_t i = 0; i < model.measured.size(); ++i) {
    check.agreements.push_back(model.measured[i].agreement);
    check.agreements.back().sigmas = as_recorded[i];
  }
  Grouped groups;
  std::vector<Hypothesis> listed;
  for (const Hypothesis& h : ranking.hypotheses) {
    if (h.first < 0) check.sound_probability = h.probability;
    const size_t group = groups.Find(model, h.effect);
    groups.probabilities[group] += h.probability;
    if (h.probability < kLeastProbability && h.first >= 0) {
      if (check.sound_probability > 0) break;
      continue;
    }
    Explanation explanation;
    for (const int index : {h.first, h.second}) {
      if (index >= 0) explanation.corrections.push_back(slips[static_cast<size_t>(index)].correction);
    }
    explanation.probability = h.probability;
    explanation.group = static_cast<int>(group);
    explanation.sigmas = SigmasOf(model, h, slips);
    if (AddsNothing(explanation, explanation.group, check.explanations)) continue;
    if (check.explanations.size() >= kMostExplanations && h.first >= 0) continue;
    check.explanations.push_back(std::move(explanation));
    listed.push_back(h);
  }
  LikeliestGroupFirst(groups.probabilities, check.explanations, listed);
  NumberGroups(groups.probabilities, check);
  Conclude(model, check);
  for (const Slip& slip : slips) {
    if (CannotBeToldApart(model, {}, slip.effect)) check.unseen.push_back(slip.correction);
  }
  ChooseNext(record, model, listed, slips, check);
  check.still_to_record = StillToRecord(record, model, check.moment);
  check.may_be_destroyed_next = MayBeDestroyedNext(check, check.verdict, record.mass.has_value());
  check.rules = {rules::check_slips, rules::check_likelihood};
  for (const Agreement& agreement : check.agreements) check.rules.push_back(agreement.rule);
  return weighed;
}

}  // namespace coilwright::plan
