#include "bench/adversary_program.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <numbers>

namespace stepper_sim::adversary {

namespace {

using bench::Random;

// Of all programs. Guess: long enough for a swing to build up, short enough for thousands of cases.
constexpr double kShortest_s = 1.0, kLongest_s = 3.5;
constexpr double kMargin_mm = 20.0;  // stays away from the ends of travel

struct Direction {
    double x = 1.0, y = 0.0;
};

/// Writes moves and keeps count of place and time.
class Writer {
  public:
    explicit Writer(const Occasion& occasion) : occasion_(occasion) {}

    void go(double x_mm, double y_mm, double feed_mm_s) {
        const double length_mm = std::hypot(x_mm - x_, y_mm - y_);
        text_ += fmt::format("G1 X{:.4f}", x_mm);
        if (occasion_.crossed) text_ += fmt::format(" Y{:.4f}", y_mm);
        text_ += fmt::format(" F{:.1f}\n", 60.0 * feed_mm_s);
        // From corner to corner; what is lost at either is a guess, for the length of the program only.
        seconds_ +=
            length_mm / feed_mm_s + std::min(feed_mm_s / occasion_.acceleration_mm_s2,
                                             std::sqrt(length_mm / occasion_.acceleration_mm_s2));
        x_ = x_mm;
        y_ = y_mm;
    }
    void along(const Direction& way, double length_mm, double feed_mm_s) {
        go(x_ + way.x * length_mm, y_ + way.y * length_mm, feed_mm_s);
    }
    void rest(double seconds) {
        text_ += fmt::format("G4 P{:.3f}\n", seconds);
        seconds_ += seconds;
    }

    bool fits(const Direction& way, double length_mm) const {
        return inside(x_ + way.x * length_mm) && inside(y_ + way.y * length_mm);
    }
    double seconds() const { return seconds_; }
    const std::string& text() const { return text_; }

  private:
    static bool inside(double mm) { return mm > kMargin_mm && mm < kTravel_mm - kMargin_mm; }

    const Occasion& occasion_;
    std::string text_ = "G21\nG90\n";
    double x_ = kStart_mm, y_ = kStart_mm, seconds_ = 0.0;
};

Direction draw_direction(Random& random, bool crossed) {
    if (!crossed) return {};
    const double kind = random.between(0.0, 1.0);
    const double diagonal = std::numbers::sqrt2 / 2.0;
    if (kind < 0.35) return {1.0, 0.0};
    if (kind < 0.6) return {0.0, 1.0};
    if (kind < 0.75) return {diagonal, diagonal};  // one motor alone
    if (kind < 0.9) return {diagonal, -diagonal};
    const double angle_rad = random.between(0.0, 2.0 * std::numbers::pi);
    return {std::cos(angle_rad), std::sin(angle_rad)};
}

/// One of the frequencies of the axis that moves most.
double draw_natural_hz(Random& random, const Occasion& occasion, const Direction& way) {
    const std::size_t axis = std::fabs(way.y) > std::fabs(way.x) ? 1 : 0;
    const double kind = random.between(0.0, 1.0);
    if (kind < 0.5) return occasion.series_hz[axis];
    return kind < 0.8 ? occasion.belt_hz[axis] : occasion.rigid_hz[axis];
}

/// Length of a stroke that comes back after half a period: up from the corner's speed, steady where there is time, down.
double stroke_mm(const Occasion& occasion, const Direction& way, double hz) {
    const double share = std::max(std::fabs(way.x), std::fabs(way.y));  // of the busier axis
    const double half_s = 0.5 / hz;
    const double most = occasion.speed_mm_s / share;
    const double from =
        std::min(0.5 * occasion.speed_step_mm_s / share, most);  // a reversal jumps twice
    const double acceleration = occasion.acceleration_mm_s2 / share;
    const double ramp_s = (most - from) / acceleration;
    constexpr double kShortest_mm = 0.03;  // a few microsteps
    if (2.0 * ramp_s >= half_s)
        return std::max(kShortest_mm, from * half_s + 0.25 * acceleration * half_s * half_s);
    return std::max(kShortest_mm, (most + from) * ramp_s + most * (half_s - 2.0 * ramp_s));
}

double draw_multiple(Random& random) {
    double multiple = random.between(0.7, 1.4);
    if (random.chance(0.12)) multiple /= 3.0;  // the strokes' third harmonic meets the frequency
    return multiple;
}

void write_zigzag(Random& random, const Occasion& occasion, Writer& out, std::string& about) {
    const Direction way = draw_direction(random, occasion.crossed);
    const double natural_hz = draw_natural_hz(random, occasion, way);
    const double hz = natural_hz * draw_multiple(random);
    const double length_mm = stroke_mm(occasion, way, hz);
    const int strokes = static_cast<int>(random.between(8.0, 61.0));
    const double feed = 2.0 * occasion.speed_mm_s;  // the setting binds
    about += fmt::format("strokes {:.2f} mm, {:.1f} Hz of {:.1f}", length_mm, hz, natural_hz);
    out.along(way, -5.0, 0.3 * occasion.speed_mm_s);
    if (random.chance(0.5)) out.rest(0.1);
    for (int i = 0; i < strokes && out.seconds() < kLongest_s; ++i)
        out.along(way, i % 2 == 0 ? length_mm : -length_mm, feed);
}

void write_infill(Random& random, const Occasion& occasion, Writer& out, std::string& about) {
    const Direction way = draw_direction(random, occasion.crossed);
    const Direction cross = occasion.crossed ? Direction{-way.y, way.x}
                                             : way;  // one axis: a slow piece of the same way
    const double natural_hz = draw_natural_hz(random, occasion, way);
    const double first_hz = natural_hz * random.between(1.2, 2.2);
    const double last_hz = natural_hz * random.between(0.45, 0.85);
    const int strokes = static_cast<int>(random.between(16.0, 61.0));
    const double cross_mm = random.between(0.2, 0.8);
    const double cross_feed = random.between(0.1, 1.0) * occasion.speed_mm_s;
    about += fmt::format("{:.1f} to {:.1f} Hz, of {:.1f}", first_hz, last_hz, natural_hz);
    for (int i = 0; i < strokes && out.seconds() < kLongest_s; ++i) {
        const double hz = first_hz + (last_hz - first_hz) * i / (strokes - 1);
        const double length_mm = stroke_mm(occasion, way, hz);
        const double sign = i % 2 == 0 ? 1.0 : -1.0;
        out.along(way, sign * length_mm, 2.0 * occasion.speed_mm_s);
        out.along(cross, cross_mm * (occasion.crossed ? 1.0 : sign), cross_feed);
    }
}

void write_cruise(Random& random, const Occasion& occasion, Writer& out, std::string& about) {
    const double seconds = random.between(kShortest_s, kLongest_s);
    int cruises = 0;
    while (out.seconds() < seconds) {
        Direction way = draw_direction(random, occasion.crossed);
        const double feed = occasion.speed_mm_s * random.between(0.2, 1.0);
        const double length_mm = feed * random.between(0.2, 1.2);
        if (!out.fits(way, length_mm)) way = {-way.x, -way.y};
        out.along(way, out.fits(way, length_mm) ? length_mm : 1.0, feed);
        ++cruises;
    }
    about += fmt::format("{} cruises", cruises);
}

void write_corners(Random& random, const Occasion& occasion, Writer& out, std::string& about) {
    const double seconds = random.between(kShortest_s, kLongest_s);
    const bool square = random.chance(0.4);
    double side_mm = random.between_logarithms(0.5, 30.0);
    double heading_rad = random.between(0.0, 2.0 * std::numbers::pi);
    double feed = occasion.speed_mm_s * random.between(0.3, 1.4);
    about += square ? fmt::format("squares of {:.1f} mm", side_mm) : std::string("short segments");
    for (int i = 0; out.seconds() < seconds; ++i) {
        if (square) {
            heading_rad = i * std::numbers::pi / 2.0;
        } else {
            side_mm = random.between_logarithms(0.2, 10.0);
            heading_rad += random.between(-2.0, 2.0);
            if (random.chance(0.3)) feed = occasion.speed_mm_s * random.between(0.2, 1.4);
        }
        Direction way{std::cos(heading_rad), std::sin(heading_rad)};
        if (!occasion.crossed) way = {way.x < 0.0 ? -1.0 : 1.0, 0.0};
        if (!out.fits(way, side_mm)) way = {-way.x, -way.y};
        out.along(way, side_mm, feed);
    }
}

/// Travel so slow that microsteps, full steps or detent beat at a frequency of the rotor.
void write_ripple(Random& random, const Occasion& occasion, Writer& out, std::string& about) {
    const double seconds = random.between(kShortest_s, 0.8 * kLongest_s);
    while (out.seconds() < seconds) {
        Direction way = draw_direction(random, occasion.crossed);
        const double hz = draw_natural_hz(random, occasion, way) * random.between(0.4, 1.2);
        const double step_mm =
            occasion.full_step_mm / (random.chance(0.5) ? 1.0 : occasion.microsteps);
        const double share = occasion.crossed ? std::fabs(way.x) + std::fabs(way.y) : 1.0;
        constexpr double kSlowest_mm_s = 1.0;
        const double feed = std::clamp(hz * step_mm / share, kSlowest_mm_s, occasion.speed_mm_s);
        const double length_mm = feed * random.between(0.3, 0.9);
        if (!out.fits(way, length_mm)) way = {-way.x, -way.y};
        about += fmt::format("{:.1f} mm/s ", feed);
        out.along(way, out.fits(way, length_mm) ? length_mm : 1.0, feed);
    }
}

}  // namespace

std::string draw_program(bench::Random& random, Kind kind, const Occasion& occasion,
                         std::string& about) {
    Writer out(occasion);
    switch (kind) {
        case Kind::zigzag:
            write_zigzag(random, occasion, out, about);
            break;
        case Kind::infill:
            write_infill(random, occasion, out, about);
            break;
        case Kind::cruise:
            write_cruise(random, occasion, out, about);
            break;
        case Kind::corners:
            write_corners(random, occasion, out, about);
            break;
        case Kind::ripple:
            write_ripple(random, occasion, out, about);
            break;
    }
    return out.text();
}

}  // namespace stepper_sim::adversary
