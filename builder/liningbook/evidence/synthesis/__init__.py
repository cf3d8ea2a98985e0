"""Studies of one outcome put together: effects, pooled effects, heterogeneity, absolute effects."""
