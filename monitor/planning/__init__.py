"""Before and after the washing: will the water last, what reaches the gun, the mix, the weight, the upkeep."""
