"""Frequency response on modal coordinates, and the loop: integrator, lead and low-pass at fixed ratios to the crossover, delay."""
import numpy as np

def plant(V, f, inp, out, w, zeta=0.002):
    """Force -> displacement over all modes. V mass-normalised shapes (columns), f Hz, w rad/s."""
    W = 2*np.pi*f; R = V[out]*V[inp]
    return (R[None, :]/(W[None, :]**2-w[:, None]**2+2j*zeta*W[None, :]*w[:, None])).sum(1)

def controller(w, wc, tau=150e-6):
    """Without its gain."""
    s = 1j*w
    return (1+wc/10/s)*(1+3*s/wc)/(1+s/(3*wc))/(1+s/(10*wc))*np.exp(-s*tau)

def stable_peak(L):
    """(stable, max|S|) of 1 + L. One integrator, open loop otherwise stable: arg(1 + L) turns by +90 degrees from 0 to infinity
    if and only if the loop is stable."""
    S = 1+L; turn = np.unwrap(np.angle(S))
    return abs((turn[-1]-turn[0])/(np.pi/2)-1) < 0.5, (1/abs(S)).max()

def passes(P, centre, w, wc, limit=2.0, tau=150e-6):
    """P: 2x2 responses at a pose (P[i][j]: force j -> position i), centre: the same at the centre, which sets each axis's gain.
    Each axis alone must be stable, and each with the other axis's loop closed must be stable with max|S| <= limit."""
    C0 = controller(w, wc, tau); C = [C0/np.interp(wc, w, abs(centre[i][i]*C0)) for i in (0, 1)]
    for i in (0, 1):
        j = 1-i
        if not stable_peak(C[j]*P[j][j])[0]: return False
        ok, peak = stable_peak(C[i]*(P[i][i]-C[j]*P[i][j]*P[j][i]/(1+C[j]*P[j][j])))
        if not ok or peak > limit: return False
    return True

def grid(fs, f, zeta=0.002):
    """Base frequencies fs (Hz) with points crowded around every mode f; rad/s."""
    k = np.array([-8, -4, -2, -1, -.5, 0, .5, 1, 2, 4, 8])
    return 2*np.pi*np.unique(np.r_[fs, (f[:, None]*(1+zeta*k[None, :])).ravel()])
