"""Forms of uniforms and equipment."""
