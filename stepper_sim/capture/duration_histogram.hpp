/// Percentiles of durations in fixed memory: eight even buckets to the octave, so that a percentile is
/// told at most an eighth too long. The longest is exact.
#pragma once

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>
#include <cstdint>

namespace stepper_sim::capture {

class DurationHistogram {
  public:
    void add(std::int64_t duration_ps) {
        const auto value = static_cast<std::uint64_t>(std::max<std::int64_t>(duration_ps, 0));
        ++counts_[bucket(value)];
        ++count_;
        longest_ps_ = std::max(longest_ps_, static_cast<std::int64_t>(value));
    }
    std::uint64_t count() const { return count_; }
    std::int64_t longest_ps() const { return longest_ps_; }

    /// The duration that `share` (0 to 1) of all do not exceed: the upper end of its bucket.
    std::int64_t percentile_ps(double share) const {
        const auto wanted =
            static_cast<std::uint64_t>(std::llround(share * static_cast<double>(count_)));
        std::uint64_t passed = 0;
        for (std::size_t b = 0; b < kBuckets; ++b) {
            passed += counts_[b];
            if (passed > 0 && passed >= wanted) return std::min(upper_end(b), longest_ps_);
        }
        return longest_ps_;
    }

  private:
    static constexpr unsigned kFraction_bits = 3;
    static constexpr std::size_t kBuckets = std::size_t{64} << kFraction_bits;

    // The bits after the leading one split an octave; below 8 ps every picosecond has its own.
    static std::size_t bucket(std::uint64_t value) {
        if (value < (1U << kFraction_bits)) return static_cast<std::size_t>(value);
        const auto octave = static_cast<unsigned>(std::bit_width(value)) - 1;
        const std::uint64_t part =
            (value >> (octave - kFraction_bits)) & ((1U << kFraction_bits) - 1);
        return static_cast<std::size_t>(((octave - kFraction_bits + 1) << kFraction_bits) + part);
    }
    static std::int64_t upper_end(std::size_t b) {
        if (b < (1U << kFraction_bits)) return static_cast<std::int64_t>(b);
        const auto octave = static_cast<unsigned>(b >> kFraction_bits) + kFraction_bits - 1;
        const std::uint64_t part = (b & ((1U << kFraction_bits) - 1)) + (1U << kFraction_bits) + 1;
        return static_cast<std::int64_t>((part << (octave - kFraction_bits)) - 1);
    }

    std::array<std::uint64_t, kBuckets> counts_{};
    std::uint64_t count_ = 0;
    std::int64_t longest_ps_ = 0;
};

}  // namespace stepper_sim::capture
