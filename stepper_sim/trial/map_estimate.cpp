#include "stepper_sim/trial/map_estimate.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <numbers>

namespace stepper_sim::trial {

namespace {

constexpr int kSize = static_cast<int>(kUnknowns);
using Vector = Eigen::Matrix<double, kSize, 1>;
using Matrix = Eigen::Matrix<double, kSize, kSize>;

constexpr int kMostSteps = 100;
constexpr double kSettled = 1e-10;
constexpr double kShortestStep = 1e-6;
// From here on the normal integral is taken by its tail, where the plain form runs out of digits.
constexpr double kTail = -20.0;

Vector vector_of(const UnknownArray& values) {
    return Eigen::Map<const Vector>(values.data());
}

Vector weight_of(const UnknownArray& spread) {
    return vector_of(spread).cwiseAbs2().cwiseInverse();
}

struct Term {
    double cost, slope, curvature;  // by the residual over its error
};

/// -ln Phi(x) and its derivatives.
Term above(double x) {
    if (x < kTail) {
        const double root = std::sqrt(2.0 * std::numbers::pi);
        return {0.5 * x * x + std::log(-x * root), x - 1.0 / x, 1.0};
    }
    const double integral = 0.5 * std::erfc(-x / std::numbers::sqrt2);
    const double mills =
        std::exp(-0.5 * x * x) / std::sqrt(2.0 * std::numbers::pi) / std::max(integral, 1e-300);
    return {-std::log(std::max(integral, 1e-300)), -mills, mills * (x + mills)};
}

Term term(const Observation& o, double r) {
    const double x = r / o.error;
    if (o.kind == ObservationKind::measured) return {0.5 * x * x, x, 1.0};
    if (o.kind == ObservationKind::above) return above(x);
    const Term mirrored = above(-x);
    return {mirrored.cost, -mirrored.slope, mirrored.curvature};
}

struct Bowl {
    double cost = 0.0;
    Vector slope;
    Matrix curvature;
};

Bowl bowl_at(std::span<const Observation> observations, const Vector& weight, const Vector& u) {
    Bowl bowl;
    bowl.slope = weight.cwiseProduct(u);
    bowl.cost = 0.5 * u.dot(bowl.slope);
    bowl.curvature = weight.asDiagonal();
    for (const Observation& o : observations) {
        const Vector g = vector_of(o.gradient) / o.error;
        const Term t = term(o, o.offset + vector_of(o.gradient).dot(u));
        bowl.cost += t.cost;
        bowl.slope += t.slope * g;
        bowl.curvature += t.curvature * g * g.transpose();
    }
    return bowl;
}

}  // namespace

double Estimate::spread(std::size_t unknown) const {
    return std::sqrt(covariance[unknown][unknown]);
}

double Estimate::spread(const UnknownArray& gradient) const {
    double variance = 0.0;
    for (std::size_t i = 0; i < kUnknowns; ++i)
        for (std::size_t j = 0; j < kUnknowns; ++j)
            variance += gradient[i] * covariance[i][j] * gradient[j];
    return std::sqrt(std::max(variance, 0.0));
}

double residual(const Observation& observation, const UnknownArray& value) {
    double r = observation.offset;
    for (std::size_t i = 0; i < kUnknowns; ++i)
        r += observation.gradient[i] * value[i];
    return r;
}

double misfit(std::span<const Observation> observations, const UnknownArray& spread_before,
              const UnknownArray& value) {
    return bowl_at(observations, weight_of(spread_before), vector_of(value)).cost;
}

Estimate map_estimate(std::span<const Observation> observations,
                      const UnknownArray& spread_before) {
    const Vector weight = weight_of(spread_before);
    Vector u = Vector::Zero();
    Bowl bowl = bowl_at(observations, weight, u);
    for (int step = 0; step < kMostSteps; ++step) {
        const Vector way = -bowl.curvature.ldlt().solve(bowl.slope);
        double share = 1.0;
        Bowl next = bowl_at(observations, weight, u + way);
        while (!(next.cost <= bowl.cost) && share > kShortestStep) {
            share *= 0.5;
            next = bowl_at(observations, weight, u + share * way);
        }
        if (!(next.cost <= bowl.cost)) break;
        u += share * way;
        bowl = next;
        if (way.norm() * share < kSettled) break;
    }
    const Matrix covariance = bowl.curvature.ldlt().solve(Matrix::Identity());
    Estimate estimate;
    for (int i = 0; i < kSize; ++i) {
        estimate.value[static_cast<std::size_t>(i)] = u(i);
        for (int j = 0; j < kSize; ++j)
            estimate.covariance[static_cast<std::size_t>(i)][static_cast<std::size_t>(j)] =
                covariance(i, j);
    }
    return estimate;
}

}  // namespace stepper_sim::trial
