// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Static currents of a triode: plate current over grid and plate voltage, and
/// grid current over grid voltage.
///
/// Plate: the form of N. Koren, "Improved vacuum-tube models for SPICE
/// simulations", Glass Audio 8(5), 1996, p. 18:
///
///   E1 = (va / kp) ln(1 + exp(kp (1/mu + (vg + vct) / sqrt(kvb + va^2))))
///   Ia = 2 E1^ex / kg1                        (va > 0, otherwise 0)
///
/// Grid: the form of K. Dempwolf, U. Zoelzer, "A physically-motivated triode
/// model for circuit simulations", DAFx-11, eq. 11, without its leakage:
///
///   Ig = gg (ln(1 + exp(cg (vg + vc))) / cg)^xi
///
/// Volts against the cathode, amperes.  Pure functions.

#ifndef COMMON_TUBE_TRIODE_H
#define COMMON_TUBE_TRIODE_H

typedef struct {
  double mu, ex, kg1, kp, kvb, vct;
} triode_plate_law;

typedef struct {
  double gg, xi, cg, vc;
} triode_grid_law;

typedef struct {
  triode_plate_law plate;
  triode_grid_law  grid;
} triode;

/// 12AX7, ECC83.  Plate: our least-squares fit to the data-sheet points (RCA,
/// Sylvania, Philips), the resistance-coupled amplifier chart of the RCA
/// Receiving Tube Manual and the measured stages of the Philips data sheet.
/// Grid: the first measured tube of Dempwolf and Zoelzer, Table 1, moved by
/// 0.2 V (our choice), so that conduction starts at -0.55 V: where the printed
/// largest outputs of both tables have their peak.
extern const triode triode_12ax7;

/// A current and its slopes
typedef struct {
  double ia; ///< Plate current
  double gm; ///< d ia / d vg: transconductance
  double gp; ///< d ia / d va: 1 / plate resistance
} triode_point;

triode_point
triode_plate(const triode_plate_law* law, double vg, double va);

/// Returns the grid current; `slope` gets d ig / d vg
double
triode_grid(const triode_grid_law* law, double vg, double* slope);

#endif // COMMON_TUBE_TRIODE_H
