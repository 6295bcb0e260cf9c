package android.database;

import java.util.ArrayList;
import java.util.List;

public class MatrixCursor implements Cursor {
    public final List<Object[]> rows = new ArrayList<>();

    public MatrixCursor(String[] columnNames, int initialCapacity) {}

    public void addRow(Object[] columnValues) {
        rows.add(columnValues);
    }

    @Override
    public int getCount() {
        return rows.size();
    }

    public String text(int column) {
        return String.valueOf(rows.get(0)[column]);
    }
}
