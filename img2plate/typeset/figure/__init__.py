"""What is seen of figures and of fit: drawings, sheets, mesh, plot, test form."""
