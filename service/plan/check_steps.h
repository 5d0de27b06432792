#pragma once

#include <string>
#include <vector>

#include "plan/check_model.h"

// The steps of a check after its explanations are ranked.
namespace coilwright::plan {

// How far each measurement lies from what an explanation makes of it, in standard deviations.
std::vector<double> SigmasOf(const Model& model, const Hypothesis& h, const std::vector<Slip>& slips);

// Verdict and summary, from agreements, explanations and probabilities.
void Conclude(const Model& model, RecordCheck& check);

// What a verdict leaves to be taken apart at the moment of the check.
std::string MayBeDestroyedNext(const RecordCheck& check, Verdict verdict, bool weighed);

// What tells the explanation that stands first from the likeliest other; `listed` are those of the check.
void ChooseNext(const Record& record, const Model& model, const std::vector<Hypothesis>& listed,
                const std::vector<Slip>& slips, RecordCheck& check);

// What the moment asks for and the record lacks.
std::vector<std::string> StillToRecord(const Record& record, const Model& model, Moment moment);

}  // namespace coilwright::plan
