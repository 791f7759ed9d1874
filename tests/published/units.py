"""Factors to SI, exact by definition (NIST SP 811, appendix B), for the units that published tables are printed in."""

IN_M = 0.0254
FT_M = 0.3048
LB_KG = 0.45359237
GRAVITY_M_S2 = 9.80665
LBF_N = LB_KG * GRAVITY_M_S2
PSI_PA = LBF_N / IN_M**2
US_GAL_M3 = 231 * IN_M**3
BBL_M3 = 42 * US_GAL_M3
FT3_M3 = FT_M**3
LB_GAL_KG_M3 = LB_KG / US_GAL_M3
LB_FT_KG_M = LB_KG / FT_M
LB_FT3_KG_M3 = LB_KG / FT3_M3
CP_PA_S = 1e-3
LB_100FT2_PA = LBF_N / (100 * FT_M**2)
