"""Pages of uniforms and equipment."""
