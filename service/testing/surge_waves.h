#pragma once

#include <string>
#include <vector>

#include "testing/surge_compare.h"

// What the samples of surge waves say besides the coil; internal to this room.
namespace coilwright::testing {

// Greatest magnitude.
double Peak(const std::vector<double>& volts);

// Marks the waves whose voltage breaks down within the record, and those with samples that stray off their curve. A
// breakdown is a step no ring makes, after the peak, that does not return: a running median removes what does.
void FindCollapses(const std::vector<SurgeWave>& waves, double sample_seconds, SurgeComparison& out);

// Samples without a pulse in them: as rough from one to the next as white noise.
bool IsNoise(const std::vector<double>& volts);

// Why two waves further apart than `watch` say nothing against the coils; empty where the coils differ. The rings are
// alike in frequency and damping, by less than four standard errors or than `watch` can show over the time they last,
// and what the fits leave is noise. `cure` gets what to set before the waves are read again.
std::string WhyAlike(const WaveDifference& difference, const std::vector<SurgeWave>& waves, double sample_seconds,
                     double watch, const SurgeComparison& out, std::string& cure);

// Whether natural frequency `faster` stands above `slower` by more than the fits can tell, and by a thousandth.
bool RingsFaster(const Ring& faster, const Ring& slower);

}  // namespace coilwright::testing
