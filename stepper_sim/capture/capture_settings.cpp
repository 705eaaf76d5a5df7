#include "stepper_sim/capture/capture_settings.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <limits>

#include "stepper_sim/capture/capture_order.hpp"
#include "stepper_sim/capture/capture_replan.hpp"

namespace stepper_sim::capture {
namespace {

// Guesses.
constexpr std::size_t kMostSteps = 32768, kLeastSteps = 64, kSamples = 1000;
constexpr double kShort_s = 2e-4;           // durations below it count less: kMostTolerance_ps
constexpr double kBend = 0.05;              // where Huber's loss stops being a square
constexpr double kExplained = 0.03;         // root of the loss, above which nothing is explained
constexpr double kExact = 1e-4;             // below which nothing is left to explain
constexpr double kSame = 1e-5;              // a difference that no step feels, of minutes
constexpr double kWorthOneMore = 0.25;      // of the loss: what a further scale must bring it to
constexpr double kAsGood = 1.2;             // of the loss
constexpr double kNoChange = 0.005;         // of a scale
constexpr double kScanStep = 0.3;           // of the logarithm
constexpr int kScanFrom = -7, kScanTo = 5;  // in such steps
constexpr int kRefinements = 12;
constexpr double kRound = 100.0;  // scales are said in hundredths where these do as well
constexpr double kNever = std::numeric_limits<double>::infinity();

/// Each bit is a row of Scaled; those of one group share their scale.
using Group = unsigned;
constexpr Group kFeed = 1, kSpeed = 2, kAcceleration = 4, kCorner = 8, kSpeeds = kFeed | kSpeed;
using Model = std::vector<Group>;

/// By the number of scales; of equally good ones the first.
std::vector<std::vector<Model>> models() {
    return {{{kFeed}, {kSpeed}, {kSpeeds}, {kAcceleration}, {kCorner}},
            {{kFeed, kAcceleration},
             {kSpeed, kAcceleration},
             {kSpeeds, kAcceleration},
             {kAcceleration, kCorner}},
            {{kFeed, kSpeed, kAcceleration},
             {kFeed, kAcceleration, kCorner},
             {kSpeed, kAcceleration, kCorner},
             {kSpeeds, kAcceleration, kCorner}},
            {{kFeed, kSpeed, kAcceleration, kCorner}}};
}

struct Fit {
    SettingScales scales = kAsSet;
    double loss = kNever;
};

class ScaleFitter {
  public:
    using Vector = Eigen::VectorXd;

    ScaleFitter(const machine::Machine& machine, const ProgramHead& program,
                std::vector<OrderedStep> steps)
        : machine_(machine), program_(program), steps_(std::move(steps)) {}

    Fit fit(const Model& model) const {
        Vector logs = Vector::Zero(static_cast<Eigen::Index>(model.size()));
        double loss = loss_at(model, logs);
        const int rounds = model.size() > 1 ? 2 : 1;
        for (int round = 0; round < rounds; ++round)
            for (Eigen::Index g = 0; g < logs.size(); ++g)
                scan(model, g, logs, loss);
        refine(model, logs, loss);
        round_off(model, logs, loss);
        return {scales_of(model, logs), loss};
    }

  private:
    static SettingScales scales_of(const Model& model, const Vector& logs) {
        SettingScales scales = kAsSet;
        for (std::size_t g = 0; g < model.size(); ++g)
            for (std::size_t i = 0; i < kScaledCount; ++i)
                if ((model[g] >> i & 1U) != 0)
                    scales[i] = std::exp(logs(static_cast<Eigen::Index>(g)));
        return scales;
    }
    /// Of the times between the steps, as shares; empty where the plan does not get there.
    Vector residuals(const Model& model, const Vector& logs) const {
        const auto times = step_times_s(machine_, program_, scales_of(model, logs), steps_);
        if (!times) return {};
        Vector rest(static_cast<Eigen::Index>(steps_.size()) - 1);
        for (std::size_t k = 0; k + 1 < steps_.size(); ++k) {
            const double seen_s =
                static_cast<double>(steps_[k + 1].seen_ps - steps_[k].seen_ps) / kPicoseconds_per_s;
            rest(static_cast<Eigen::Index>(k)) =
                ((*times)[k + 1] - (*times)[k] - seen_s) / (seen_s + kShort_s);
        }
        return rest;
    }
    static double loss_of(const Vector& rest) {
        if (rest.size() == 0) return kNever;
        double sum = 0.0;
        for (const double r : rest)
            sum += std::abs(r) < kBend ? r * r : kBend * (2.0 * std::abs(r) - kBend);
        return sum / static_cast<double>(rest.size());
    }
    double loss_at(const Model& model, const Vector& logs) const {
        return loss_of(residuals(model, logs));
    }

    /// Over all values of one scale: the others of what it does not feel have no slope there.
    void scan(const Model& model, Eigen::Index g, Vector& logs, double& loss) const {
        const double kept = 1.0 - 1e-6;  // what makes no difference stays
        for (int k = kScanFrom; k <= kScanTo; ++k) {
            Vector tried = logs;
            tried(g) = k * kScanStep;
            const double there = loss_at(model, tried);
            if (!(there < kept * loss)) continue;
            loss = there;
            logs = tried;
        }
    }
    void refine(const Model& model, Vector& logs, double& loss) const {
        constexpr double kDifference = 1e-2;  // of a logarithm: it moves a step by more than a tick
        double damping = 1e-3;
        for (int turn = 0; turn < kRefinements; ++turn) {
            const Vector rest = residuals(model, logs);
            if (rest.size() == 0) return;
            Eigen::MatrixXd slopes(rest.size(), logs.size());
            for (Eigen::Index g = 0; g < logs.size(); ++g) {
                Vector beside = logs;
                beside(g) -= kDifference;
                const Vector there = residuals(model, beside);
                if (there.size() == 0) return;
                slopes.col(g) = (rest - there) / kDifference;
            }
            const Vector weights = rest.unaryExpr(
                [](double r) { return std::abs(r) < kBend ? 1.0 : kBend / std::abs(r); });
            Eigen::MatrixXd normal = slopes.transpose() * weights.asDiagonal() * slopes;
            const Vector pull = slopes.transpose() * weights.asDiagonal() * rest;
            const double least = 1e-12 + 1e-9 * normal.trace();
            for (Eigen::Index g = 0; g < logs.size(); ++g)
                normal(g, g) += damping * normal(g, g) + least;
            const Vector tried = logs - normal.ldlt().solve(pull).eval();
            const double there = tried.allFinite() && tried.cwiseAbs().maxCoeff() < 3.0
                                     ? loss_at(model, tried)
                                     : kNever;
            const bool better = there < loss;
            const bool settled = better && there > 0.999 * loss;
            if (better) {
                logs = tried;
                loss = there;
            }
            if (settled || (!better && damping > 1e3)) return;
            damping *= better ? 0.1 : 10.0;
        }
    }
    /// People set round values: taken where they explain the trace as well.
    void round_off(const Model& model, Vector& logs, double& loss) const {
        for (Eigen::Index g = 0; g < logs.size(); ++g) {
            Vector tried = logs;
            tried(g) = std::log(std::max(std::round(std::exp(logs(g)) * kRound), 1.0) / kRound);
            const double there = loss_at(model, tried);
            if (there > kAsGood * loss + kSame * kSame) continue;
            logs = tried;
            loss = there;
        }
    }

    const machine::Machine& machine_;
    const ProgramHead& program_;
    std::vector<OrderedStep> steps_;
};

/// The trace's steps in the order of the plan, thinned.
std::vector<OrderedStep> sample_of(const machine::Machine& machine, const ProgramHead& program,
                                   const SeenSteps& seen, const std::vector<std::size_t>& motors) {
    const auto ordered = in_same_order(planned_steps(machine, program), seen, motors);
    if (!ordered || ordered->size() < kLeastSteps) return {};
    const std::size_t apart = std::max<std::size_t>(ordered->size() / kSamples, 1);
    std::vector<OrderedStep> sample;
    for (std::size_t k = 0; k < ordered->size(); k += apart)
        sample.push_back((*ordered)[k]);
    return sample;
}

/// The first so many of all motors together.
void keep_first(SeenSteps& seen, std::size_t most) {
    std::vector<std::int64_t> times_ps;
    for (const auto& steps : seen)
        for (const CapturedPulse& pulse : steps)
            times_ps.push_back(pulse.time_ps);
    if (times_ps.size() <= most) return;
    const auto last = times_ps.begin() + static_cast<std::ptrdiff_t>(most);
    std::nth_element(times_ps.begin(), last, times_ps.end());
    for (auto& steps : seen)
        std::erase_if(steps, [&](const CapturedPulse& pulse) { return pulse.time_ps >= *last; });
}

bool changes_nothing(const SettingScales& scales) {
    return std::all_of(scales.begin(), scales.end(),
                       [](double scale) { return std::abs(scale - 1.0) <= kNoChange; });
}

/// The other says the same, and of a further setting that is not felt.
bool says_more(const SettingScales& other, const SettingScales& best) {
    for (std::size_t i = 0; i < kScaledCount; ++i)
        if (best[i] != 1.0 && std::abs(other[i] / best[i] - 1.0) > kNoChange) return false;
    return true;
}

std::vector<Fit> fits_of(const ScaleFitter& fitter) {
    std::vector<Fit> best;
    for (const std::vector<Model>& size : models()) {
        std::vector<Fit> fits;
        double least = kNever;
        for (const Model& model : size) {
            fits.push_back(fitter.fit(model));
            least = std::min(least, fits.back().loss);
        }
        if (!best.empty() && least > kWorthOneMore * best.front().loss) break;
        std::erase_if(fits,
                      [&](const Fit& fit) { return fit.loss > kAsGood * least + kExact * kExact; });
        best = std::move(fits);
        if (best.empty() || least < kExact * kExact) break;
    }
    return best;
}

}  // namespace

std::vector<SettingScales> fitting_scales(const machine::Machine& machine,
                                          const run::ProgramSource& program,
                                          const TraceHead& head) {
    SeenSteps seen;
    std::vector<std::size_t> motors;
    for (std::size_t i = 0; i < head.motors.size(); ++i) {
        motors.push_back(head.motors[i].slot);
        seen[motors.back()] = pulses_of(head.lines[2 * i], head.lines[2 * i + 1]);
    }
    keep_first(seen, kMostSteps);
    const ProgramHead moves = read_program_head(machine, program, kMostSteps);
    keep_first(seen, moves.steps);
    std::vector<OrderedStep> sample = sample_of(machine, moves, seen, motors);
    if (sample.empty()) return {};
    const std::vector<Fit> fits = fits_of(ScaleFitter(machine, moves, std::move(sample)));
    std::vector<SettingScales> found;
    for (const Fit& fit : fits)
        if (std::sqrt(fit.loss) < kExplained && !changes_nothing(fit.scales) &&
            (found.empty() || !says_more(fit.scales, found.front())))
            found.push_back(fit.scales);
    return found;
}

}  // namespace stepper_sim::capture
