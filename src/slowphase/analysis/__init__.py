"""The one door: sessions in, results and documents out."""
