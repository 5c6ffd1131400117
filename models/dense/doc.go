// Package dense holds the small linear-algebra kernels of the mechanics:
// factorisation of a symmetric matrix of 3 by 3 blocks over the graph of
// bodies ([Pattern]), and the symmetric eigenproblem with chosen rows of the
// eigenvectors ([Eigen]). Nothing here allocates after set-up.
package dense
