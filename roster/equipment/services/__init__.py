"""What is written of uniforms and equipment."""
