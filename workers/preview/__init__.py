"""Pictures of the result: shaded relief, depth map, mesh."""
