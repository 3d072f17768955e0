"""What reaches the caches and the memory: fills, victims and stores at a geometry, and a sweep's levels."""
