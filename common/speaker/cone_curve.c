// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "cone_curve.h"

/// Fitted, see the header.  At 8 inch the bell is a peak, the edge's dip comes
/// from the first mode.
static const cone_curve curves[] = {
  [CONE_8_INCH] =
    {
      .edge_hz     = 3522.0,
      .edge_db     = 6.82,
      .edge_q      = 3.51,
      .mode        = {{1500.0, 3.947, 1528.0, 5.353},
                      {2293.0, 8.841, 2424.0, 6.79},
                      {5392.0, 7.588, 4996.0, 5.23}},
      .cap         = {15370.0, 3.726, 10880.0, 0.6852},
      .low_pass_hz = 6786.0,
    },
  [CONE_10_INCH] =
    {
      .edge_hz     = 1369.0,
      .edge_db     = -4.86,
      .edge_q      = 4.43,
      .mode        = {{1828.0, 6.63, 1965.0, 6.81},
                      {2862.0, 5.702, 3196.0, 3.97},
                      {4615.0, 5.289, 4593.0, 1.534}},
      .cap         = {13960.0, 7.0, 13150.0, 2.213},
      .low_pass_hz = 7798.0,
    },
  [CONE_12_INCH] =
    {
      .edge_hz     = 1087.0,
      .edge_db     = -4.07,
      .edge_q      = 3.49,
      .mode        = {{1554.0, 4.219, 1747.0, 5.159},
                      {2268.0, 6.121, 2430.0, 2.325},
                      {3916.0, 6.373, 3744.0, 2.09}},
      .cap         = {12490.0, 7.0, 11210.0, 2.855},
      .low_pass_hz = 6498.0,
    },
  [CONE_15_INCH] =
    {
      .edge_hz     = 925.1,
      .edge_db     = -5.12,
      .edge_q      = 3.99,
      .mode        = {{1191.0, 4.528, 1381.0, 3.722},
                      {1908.0, 8.165, 2096.0, 2.717},
                      {2988.0, 5.142, 2664.0, 1.624}},
      .cap         = {11030.0, 7.0, 9553.0, 2.634},
      .low_pass_hz = 5198.0,
    },
};

const cone_curve*
cone_curve_of(cone_size size)
{
  return &curves[size];
}
