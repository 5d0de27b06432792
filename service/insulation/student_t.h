#pragma once

namespace coilwright::insulation {

// Quantile of Student's distribution: |t| stays below it with the probability `confidence`, above 0 and below 1, at
// `freedom` degrees of freedom, from 1. Finite sums for whole degrees of freedom, inverted by bisection: Abramowitz and
// Stegun 26.7.3 and 26.7.4 (from memory). Accuracy: 1e-8 of the value for confidences from 0.01 to 0.999.
double StudentT(double confidence, int freedom);

}  // namespace coilwright::insulation
