/// How near a figure must come to a printed one.
#pragma once

namespace printed {

/// Half a unit of the last printed digit, with so many decimals; -1: the last digit is that of the tens.
constexpr double half_unit(int decimals) {
    double unit = 1.0;
    for (; decimals > 0; --decimals)
        unit *= 10.0;
    double tens = 1.0;
    for (; decimals < 0; ++decimals)
        tens *= 10.0;
    return 0.5 * tens / unit;
}

}  // namespace printed
